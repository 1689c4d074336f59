#pragma once
// Switching without getting anywhere: many switchings by levels (switches, siphons) in a moment. Names the two that fight.

#include <deque>
#include <string>

namespace ebb::time {

class ChatterGuard {
public:
    /// Something switched by itself. True when it is chatter.
    bool switched(double t_s, const std::string& what);

    /// "A and B switch to and fro without getting anywhere"
    std::string complaint() const;

private:
    struct One {
        double t_s;
        std::string what;
    };
    std::deque<One> recent_;
};

}  // namespace ebb::time
