#pragma once
// What every fault does to everything that can be read, at some of its sizes: a table that fills as it is asked.
//
// Between the sizes at which a fault was solved, what is read is taken from the straight line between the two nearest (in u); a reading that is a
// matter of yes or no from the nearer. Whoever needs it sharper asks for another size in between. The table does not depend on what was read.
//
// Cost: one settled solve in each visit for an entry; entries asked for together are solved over threads, and are the same however many there are.

#include <functional>
#include <span>
#include <stop_token>
#include <vector>

#include "solver/diagnose/predict.h"

namespace ebb::diagnose {

class Signatures {
public:
    /// `layout` is validated and outlives this.
    Signatures(const layout::Layout& layout, std::vector<Visit> visits, std::vector<Observable> observables, std::span<const double> chances = {},
               unsigned threads = 1);

    const layout::Layout& layout() const { return *layout_; }
    const std::vector<Visit>& visits() const { return visits_; }
    const std::vector<Observable>& observables() const { return observables_; }
    /// Index of an observable, which must be among them.
    std::size_t column_of(const Observable& what) const;
    const std::vector<Fault>& faults() const { return faults_; }
    std::size_t solves() const;

    /// Nothing wrong.
    const std::vector<Predicted>& sound() const { return sound_; }
    bool sound_is_solved() const { return sound_solved_; }

    struct Want {
        std::size_t fault = 0;
        double u = 0.0;
    };
    /// Solves what is not there yet. Stops early when asked to; `progress` is called in this thread with the share that is done.
    void ensure(std::span<const Want> wants, const std::function<void(double)>& progress = {}, const std::stop_token& stop = {});

    struct Node {
        double u = 0.0;
        bool solved = false;
        std::vector<Predicted> predicted;
    };
    const std::vector<Node>& nodes(std::size_t fault) const { return nodes_[fault]; }  ///< by rising u

    /// Of one observable, at any u. NaN where a neighbour has no solution or nothing determines it.
    Predicted at(std::size_t fault, double u, std::size_t observable) const;

    /// Several faults at once, solved here and now over threads (not kept); `quick` as of Predictor::predict. An entry that has no solution is
    /// `solved` = false.
    struct Together {
        std::vector<Injected> faults;
        std::vector<Predicted> predicted = {};
        bool solved = false;
        std::size_t solves = 0;  ///< network solves it took
    };
    void together(std::span<Together> wanted, bool quick = false, const std::stop_token& stop = {});

    /// Nothing wrong, in another layout of the same things (see Predictor::predict_in).
    struct Elsewhere {
        layout::Layout layout;
        std::vector<layout::Conditions> conditions;  ///< by visit
        std::vector<Predicted> predicted = {};
        bool solved = false;
    };
    void elsewhere(std::span<Elsewhere> wanted, bool quick = false, const std::stop_token& stop = {});
    const std::vector<layout::Conditions>& conditions() const { return predictors_.front().conditions(); }

    /// What the layout's unknowns do with this fault in the farm, kept for the next diagnosis (own_doubt.cpp makes it).
    struct OwnDoubt {
        std::size_t fault = 0;
        double u = 0.0;
        std::vector<std::vector<double>> doubt = {};  ///< as of doubt_of(); empty: too hard to solve
    };
    std::vector<OwnDoubt>& own_doubts() { return own_doubts_; }

private:
    void over_threads(std::size_t jobs, const std::stop_token& stop, const std::function<void(Predictor&, std::size_t)>& work);
    const layout::Layout* layout_;
    std::vector<Visit> visits_;
    std::vector<Observable> observables_;
    std::vector<Fault> faults_;
    std::vector<Predictor> predictors_;  ///< one per thread
    std::vector<Predicted> sound_;
    bool sound_solved_ = false;
    std::vector<std::vector<Node>> nodes_;
    std::vector<OwnDoubt> own_doubts_;
};

}  // namespace ebb::diagnose
