#pragma once
// Collects problems while files are read, with their places; stops at a number no person would read through.

#include <string>
#include <unordered_set>
#include <vector>

#include "netfiles/source.h"
#include "solver/layout/problems.h"

namespace ebb::netfiles {

/// What is wrong, in words; the place comes from where it is reported.
struct Complaint {
    std::string code, about, says, advice, attribute;
};

class Report {
public:
    static constexpr std::size_t kMost = 1000;

    void add(Complaint complaint, layout::Place place, layout::Place other_place = {}) {
        if (full()) {
            return;
        }
        layout::Problem problem;
        problem.code = std::move(complaint.code);
        problem.about = std::move(complaint.about);
        problem.says = std::move(complaint.says);
        problem.advice = std::move(complaint.advice);
        problem.attribute = std::move(complaint.attribute);
        problem.place = place;
        problem.other_place = other_place;
        problems.push_back(std::move(problem));
        if (full()) {
            layout::Problem last;
            last.code = "too-many-errors";
            last.says = "more than " + std::to_string(kMost) + " errors; reading stopped";
            last.advice = "mend these and try again";
            last.place = place;
            problems.push_back(std::move(last));
        }
    }
    bool full() const { return problems.size() >= kMost; }

    std::vector<layout::Problem> problems;
};

}  // namespace ebb::netfiles
