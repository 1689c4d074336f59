#pragma once
// The numbers of every thing in a sentence: what its title says, and what a screen reader hears.

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "cli/views/report/profile.h"

namespace ebb::cli::profile {

/// A value for a {name} of a clause. What stays whatever the state is written into the drawing, so that the script can say it again.
struct Value {
    const char* name;
    std::string says;
    bool stays = false;
};
using Values = std::vector<Value>;

/// A thing in words: "tank T1", its clauses and values.
struct Told {
    std::string name;
    std::span<const std::string_view> clauses;
    Values values;
    std::string sentence() const;
};

/// Every {name} replaced; empty when one of them is not known ("" or "-").
std::string filled(std::string_view clause, const Values& values);

Told told(const ProfileScene& scene, const layout::Ref& ref);
Told told_pipe(const ProfileScene& scene, std::size_t pipe);
Told told_valve(const ProfileScene& scene, std::size_t valve);

/// "shut", "57 %", "open".
std::string opening_in_words(double opening);
/// Size as written, or the bore.
std::string size_of(const ProfileScene& scene, std::size_t pipe);
/// Whether so little flows that nothing does.
bool is_still(double flow_m3_s);

const std::string& id_of(const layout::Layout& layout, const layout::Ref& ref);

}  // namespace ebb::cli::profile
