#pragma once
// Puts the options of a Simulation back as they were when the questions asked of it are answered.

#include "solver/time/simulation.h"

namespace ebb::time {

class OptionsKept {
public:
    explicit OptionsKept(Simulation& simulation) : simulation_(&simulation), kept_(simulation.options()) {}
    ~OptionsKept() { simulation_->options() = kept_; }
    OptionsKept(const OptionsKept&) = delete;
    OptionsKept& operator=(const OptionsKept&) = delete;
    OptionsKept(OptionsKept&&) = delete;
    OptionsKept& operator=(OptionsKept&&) = delete;

private:
    Simulation* simulation_;
    Options kept_;
};

}  // namespace ebb::time
