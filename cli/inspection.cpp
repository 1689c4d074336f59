#include "cli/inspection.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <string_view>
#include <utility>

#include "cli/words.h"

namespace ebb::cli {
namespace {

layout::Problem remark_on(std::string code, std::string about, std::string says, const layout::Place& place) {
    layout::Problem problem;
    problem.severity = layout::Severity::doubt;
    problem.code = std::move(code);
    problem.about = std::move(about);
    problem.says = std::move(says);
    problem.place = place;
    return problem;
}

layout::Place place_of_vessel(const layout::Layout& layout, const std::string& id) {
    const auto found = std::find_if(layout.vessels.begin(), layout.vessels.end(), [&](const layout::Vessel& vessel) { return vessel.id == id; });
    return found == layout.vessels.end() ? layout::Place{} : found->place;
}

}  // namespace

void Inspection::add(Weight weight, layout::Problem problem, const std::string& arrangement) {
    const auto [known, is_new] = by_name_.emplace(problem.code + ' ' + problem.about, remarks_.size());
    if (is_new) {
        remarks_.push_back({weight, std::move(problem), {arrangement}});
        return;
    }
    Remark& remark = remarks_[known->second];
    remark.weight = std::min(remark.weight, weight);
    if (remark.arrangements.back() != arrangement) {
        remark.arrangements.push_back(arrangement);
    }
}

void Inspection::add_doubts(const std::vector<layout::Problem>& doubts) {
    for (const layout::Problem& doubt : doubts) {
        if (doubt.code == "pump-against-shut") {
            advice_.emplace(doubt.about, doubt);  // the answers say it, of the arrangements looked at
        } else {
            remarks_.push_back({Weight::doubt, doubt, {}});
        }
    }
}

void Inspection::add_answer(const settle::Answer& answer) {
    ++answers_;
    settled_ += settle::solved(answer.state) ? 1U : 0U;
    const layout::Place place = layout_.arrangements[static_cast<std::size_t>(answer.arrangement)].place;
    if (!settle::solved(answer.state) && answer.state != settle::State::spills_until_dry) {  // that is among the findings
        const Weight weight = answer.state == settle::State::cycles ? Weight::doubt : Weight::trouble;
        const std::string says = state_words(answer.state) + (answer.why.empty() ? "" : ": " + answer.why);
        add(weight, remark_on(settle::name_of(answer.state), answer.name, says, place), answer.name);
    }
    targets_ += targets_asked(answer);
    missed_ += targets_missed(answer);
    shut_off_ += answer.targets.size() - targets_asked(answer);
    for (const settle::Target& target : answer.targets) {
        if (is_missed(answer, target)) {
            add(Weight::trouble,
                remark_on("target-missed", target.about, sentence_of(target, speech_, answer.rests_on_label), place_of_vessel(layout_, target.about)),
                answer.name);
        }
    }
    for (const Finding& finding : findings(layout_, answer, speech_)) {
        layout::Problem problem = remark_on(finding.code, finding.about, finding.says, finding.place);
        const auto advised = advice_.find(finding.about);
        if (finding.code == "pump-against-shut" && advised != advice_.end()) {
            problem.advice = advised->second.advice;
        }
        add(finding.weight, std::move(problem), answer.name);
    }
}

std::vector<Remark> Inspection::remarks() const {
    std::vector<Remark> sorted = remarks_;
    std::stable_sort(sorted.begin(), sorted.end(), [](const Remark& one, const Remark& other) {
        const auto rank = [](const Remark& remark) { return std::pair(remark.weight, remark.problem.code == "target-missed"); };
        return rank(one) < rank(other);
    });
    return sorted;
}

bool Inspection::any_of(std::initializer_list<std::string_view> codes) const {
    return std::any_of(remarks_.begin(), remarks_.end(), [&](const Remark& remark) {
        return std::find(codes.begin(), codes.end(), std::string_view(remark.problem.code)) != codes.end();
    });
}

std::vector<std::string> Inspection::fine() const {
    std::vector<std::string> fine;
    const auto say = [&](bool right, std::string says) {
        if (right) {
            fine.push_back(std::move(says));
        }
    };
    fine.emplace_back("every word, unit and id is understood, and nothing contradicts itself");
    say(answers_ > 0 && settled_ == answers_, all_of(answers_, "arrangement", "arrangements") + (answers_ == 1 ? " is solved" : " are solved"));
    say(targets_ > 0 && missed_ == 0,
        shut_off_ == 0 ? "every target is met in every arrangement" : "every target is met wherever its water is not shut off on purpose");
    const bool runs_over = any_of({"spills", "spilled-on-the-way", "spills-until-dry", "spills-when-stopped"});
    say(answers_ > 0 && !runs_over, "no vessel spills, pumps running or stopped");
    say(answers_ > 0 && !runs_over && !any_of({"freeboard", "little-freeboard", "little-freeboard-when-stopped"}),
        fmt::format("every level stays {} or more below its rim", speech_.height(Practice{}.freeboard_m)));
    if (!layout_.pumps.empty()) {
        say(!any_of({"intake-bare", "pump-against-shut", "beyond-curve"}), "every running pump moves water within its curve");
        say(!any_of({"cavitates", "little-suction-head"}), "no pump is short of suction head, as far as its curve says");
        say(!any_of({"off-best-point"}), "every running pump works within 70 % to 120 % of its best flow, where that is known");
    }
    const Practice practice(layout_.limits);
    const bool own_velocity = practice.own_supply_velocity || practice.own_suction_velocity;
    say(!any_of({"supply-velocity", "suction-velocity"}),
        own_velocity ? "no pipe runs faster than the layout's limits" : "no pipe runs faster than common practice");
    const bool has_drains = std::any_of(layout_.pipes.begin(), layout_.pipes.end(), [](const layout::Pipe& pipe) { return pipe.gravity; });
    say(has_drains && !any_of({"drain-nearly-full"}),
        fmt::format("no drain runs more than {} full without being drowned", Speech::share(practice.drain_fill)));
    say(has_drains && !any_of({"drain-does-not-scour"}), "every drain in use runs fast enough to keep itself clean");
    return fine;
}

namespace {

/// Gathers lines of the profile.
class Profile {
public:
    void add(double elevation_m, const std::string& about, std::string what, std::string where = {}) {
        if (!std::isnan(elevation_m)) {
            lines_.push_back({elevation_m, about, std::move(what), std::move(where)});
        }
    }
    void add_vessel(const layout::Vessel& vessel) {
        add(vessel.rim_m, vessel.id, fmt::format("rim of the {}", layout::name_of(vessel.kind)));
        if (vessel.start_depth_m > 0.0) {
            add(vessel.floor_m + vessel.start_depth_m, vessel.id, "water at the start");
        }
        add(vessel.floor_m + vessel.least_depth_m, vessel.id, "least depth");
        add(vessel.floor_m, vessel.id, "floor");
    }
    std::vector<ProfileLine> sorted() {
        std::stable_sort(lines_.begin(), lines_.end(),
                         [](const ProfileLine& one, const ProfileLine& other) { return one.elevation_m > other.elevation_m; });
        return std::move(lines_);
    }

private:
    std::vector<ProfileLine> lines_;
};

/// The elevation heights of a port are measured from: the floor of a vessel or the level of a pond. NaN for other ends.
double base_of(const layout::Layout& layout, const layout::Ref& ref) {
    const auto index = static_cast<std::size_t>(ref.index);
    if (ref.kind == layout::Kind::vessel) {
        return layout.vessels[index].floor_m;
    }
    return ref.kind == layout::Kind::pond ? layout.ponds[index].level_m : layout::kNotSaid;
}

void add_ports(const layout::Layout& layout, Profile& profile) {
    for (const layout::Pipe& pipe : layout.pipes) {
        if (pipe.from.ref.kind == layout::Kind::vessel) {
            profile.add(base_of(layout, pipe.from.ref) + pipe.from.height(), pipe.id, "leaves", pipe.from.id);
        }
        if (pipe.to.ref.kind == layout::Kind::vessel) {
            profile.add(base_of(layout, pipe.to.ref) + pipe.to.height(), pipe.id, "enters", pipe.to.id);
        }
    }
}

}  // namespace

std::vector<ProfileLine> profile_of(const layout::Layout& layout) {
    Profile profile;
    for (const layout::Vessel& vessel : layout.vessels) {
        profile.add_vessel(vessel);
    }
    for (const layout::Pond& pond : layout.ponds) {
        profile.add(pond.level_m, pond.id, "level of the pond");
    }
    for (const layout::Standpipe& standpipe : layout.standpipes) {
        for (const layout::Insert& insert : standpipe.inserts) {
            profile.add(base_of(layout, standpipe.in) + insert.lip_m, standpipe.id, fmt::format("lip of insert {} in", insert.name), standpipe.in_id);
        }
    }
    for (const layout::Siphon& siphon : layout.siphons) {
        profile.add(base_of(layout, siphon.in) + siphon.crest_m, siphon.id, "crest of the siphon in", siphon.in_id);
        profile.add(base_of(layout, siphon.in) + siphon.breaks_at_m, siphon.id, "the siphon breaks");
    }
    for (const layout::Tee& tee : layout.tees) {
        profile.add(tee.elevation_m, tee.id, tee.vented ? "vented tee" : "tee");
    }
    for (const layout::Pump& pump : layout.pumps) {
        profile.add(pump.in_id.empty() ? pump.elevation_m : base_of(layout, pump.in) + pump.intake_height_m, pump.id,
                    pump.in_id.empty() ? "pump" : "intake in", pump.in_id);
    }
    for (const layout::Nozzle& nozzle : layout.nozzles) {
        profile.add(base_of(layout, nozzle.into) + nozzle.height_m, nozzle.id, "nozzle into", nozzle.into_id);
    }
    add_ports(layout, profile);
    return profile.sorted();
}

}  // namespace ebb::cli
