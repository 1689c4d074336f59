#pragma once
// What the parts of validate() share. Inside solver/layout only.

#include <initializer_list>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "solver/layout/labels.h"
#include "solver/layout/layout.h"
#include "solver/layout/problems.h"

namespace ebb::layout {

/// Who refers to something, for messages and places.
struct Referrer {
    std::string about;           ///< id of the element that is complained of
    std::string_view element;    ///< its word: "pump"
    std::string_view attribute;  ///< where the label stands: "in"
    Place place;
};

/// What is wrong, in words.
struct Finding {
    std::string code, about, says, advice;
    std::string attribute = {};
};

class Checks {
public:
    explicit Checks(Layout& wanted) : layout(wanted) {}

    void add(Finding finding, const Place& place, const Place& other = {});

    /// Enters every label of the layout; reports those given twice.
    void enter_labels();

    /// What `id` names, if it is one of the kinds wanted; otherwise none, after reporting (an empty id is not reported).
    Ref resolve(const std::string& id, std::initializer_list<Kind> wanted, const Referrer& referrer);

    /// Reports a number that is missing (or not finite) in a layout made without the reader.
    bool given(double value, const Referrer& referrer);

    Layout& layout;
    std::vector<Problem> problems;

private:
    void enter(const std::string& id, Ref ref, const Place& place);
    std::string nearest_label(const std::string& id, std::initializer_list<Kind> wanted) const;

    Labels things_;
    mutable int searches_ = 0;
};

/// Pipes by what they begin and end at: counts and the first two of each, so that a farm of a million pipes costs no more than it must.
struct Ends {
    std::int32_t pipes = 0;   ///< how many pipes and drains end here
    std::int32_t drains = 0;  ///< how many of them are drains
    std::int32_t first = -1;
    std::int32_t second = -1;
    void count(std::int32_t pipe, bool gravity);
};
struct Joint {
    Ends in;   ///< pipes whose to-end is here
    Ends out;  ///< pipes whose from-end is here
};
/// One vector for each kind that pipes can end at, indexed as the layout's.
struct Joints {
    std::vector<Joint> vessels, ponds, tees, pumps, filters, nozzles, supplies, float_valves, standpipes, siphons;
};
Joints joints_of(const Layout& layout);

/// Who says how things are set: an arrangement, or a change of a routine.
struct Speaker {
    std::string about;         ///< name of the arrangement or routine
    std::string_view element;  ///< "arrangement", "change of"
    std::string words;         ///< the beginning of a sentence: "arrangement "coupled""
};
/// What has been said of each thing so far, by label.
using SettingsSaid = std::unordered_map<std::string, const Setting*>;

/// Resolves the lines and reports what they name wrongly and where they contradict each other or what was said before.
void check_settings(Checks& checks, std::vector<Setting>& settings, const Speaker& speaker, SettingsSaid& said_before);

void check_vessels(Checks& checks);
void check_pipes(Checks& checks);
void check_pumps(Checks& checks, const Joints& joints);
void check_devices(Checks& checks, const Joints& joints);
void check_overflows(Checks& checks, const Joints& joints);
void check_arrangements(Checks& checks);
void check_routines(Checks& checks);
void check_choices(Checks& checks);
void check_economy(Checks& checks);
void check_taking(Checks& checks);
void check_plus_minus(Checks& checks);

// Words and figures for messages.
std::string in_quotes(std::string_view text);
std::string metres(double value);  ///< "0.35 m"
std::string figure(double value);  ///< "0.35"
std::string join_labels(const std::vector<std::string_view>& labels, std::string_view joint);

inline constexpr double kSame_m = 1e-9;  ///< heights nearer than this are equal

}  // namespace ebb::layout
