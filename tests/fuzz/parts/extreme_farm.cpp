#include "tests/fuzz/parts/extreme_farm.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "solver/layout/validate.h"
#include "tests/fuzz/parts/must.h"

namespace ebb::fuzz {
namespace {

using layout::kNotSaid;

/// An everyday range, and how far it can be widened.
struct Range {
    double least, low, high, most;
};
constexpr Range kBore_m = {1e-3, 0.012, 0.15, 10.0}, kLength_m = {1e-3, 0.2, 60.0, 1e5}, kHeight_m = {1e-3, 0.3, 1.5, 100.0},
                kArea_m2 = {1e-4, 0.3, 8.0, 1e6}, kElevation_m = {1e-3, 0.1, 10.0, 1000.0}, kFlow_m3_s = {1e-9, 3e-4, 1e-2, 1e3},
                kHead_m = {1e-3, 1.5, 20.0, 1e4}, kLoss = {1e-3, 0.05, 10.0, 1e6}, kOpening = {1e-9, 0.05, 1.0, 1.0},
                kSmallHole_m = {1e-4, 2e-3, 1e-2, 1.0};

/// Where water can come from and go to; `height_m` of the rim above the floor, for ports (infinite: a pond; nothing: a tee).
struct Joint {
    std::string id;
    double height_m = 0.0;
    layout::Kind kind = layout::Kind::tee;
};

class Builder {
public:
    explicit Builder(Bytes& bytes) : bytes_(bytes) {
        constexpr double kHowFar[] = {0.0, 0.0, 0.1, 0.3, 0.5, 0.7, 1.0, 1.0};
        far_ = kHowFar[bytes_.integer(0, 7)];
        layout_.name = "farm from bytes";
        layout_.friction = bytes_.chance(0.25) ? layout::FrictionLaw::hazen_williams : layout::FrictionLaw::darcy_weisbach;
        layout_.water_temperature_c = bytes_.uniform(0.5, 40.0);
        layout_.altitude_m = bytes_.chance(0.5) ? 0.0 : bytes_.uniform(0.0, 4000.0);
    }

    layout::Layout build() {
        if (bytes_.chance(0.3)) pond();
        vessel(layout::VesselKind::sump);
        const int things = bytes_.integer(1, 14);
        for (int i = 0; i < things; ++i) add_thing();
        arrangements();
        return std::move(layout_);
    }

private:
    std::string id(const char* prefix) { return prefix + std::to_string(++count_); }
    double of(const Range& range) {
        const auto widened = [&](double inner, double outer) { return inner * std::pow(outer / inner, far_); };
        return bytes_.log_uniform(widened(range.low, range.least), widened(range.high, range.most));
    }
    /// Elevations are often all but the same.
    double elevation_m() {
        if (bytes_.chance(0.3)) return last_elevation_m_ + (bytes_.chance(0.5) ? 0.0 : bytes_.log_uniform(1e-12, 1e-3));
        return last_elevation_m_ = (bytes_.chance(0.3) ? -1.0 : 1.0) * of(kElevation_m);
    }
    const Joint& any_joint() { return joints_[static_cast<std::size_t>(bytes_.byte()) % joints_.size()]; }
    template <class Fits>
    const Joint* any_joint_that(const Fits& fits) {
        const std::size_t first = static_cast<std::size_t>(bytes_.byte());
        for (std::size_t i = 0; i < joints_.size(); ++i)
            if (const Joint& joint = joints_[(first + i) % joints_.size()]; fits(joint)) return &joint;
        return nullptr;
    }
    double port_m(const Joint& joint, bool outlet) {
        if (joint.kind == layout::Kind::tee || bytes_.chance(0.2)) return kNotSaid;
        if (joint.kind == layout::Kind::pond) return 0.0;
        return bytes_.uniform(0.0, outlet ? 1.0 : 1.2) * joint.height_m;
    }

    layout::Pipe& pipe(const std::string& from, const std::string& to, double from_m = kNotSaid, double to_m = kNotSaid, bool gravity = false) {
        layout::Pipe p;
        p.id = id(gravity ? "d" : "p");
        p.gravity = gravity;
        p.from = {from, {}, from_m};
        p.to = {to, {}, to_m};
        p.length_m = of(kLength_m);
        p.bore_m = of(kBore_m);
        p.roughness_m = bytes_.chance(0.3) ? 0.0 : bytes_.log_uniform(1e-6, 0.05) * p.bore_m;
        p.hazen_williams_c = bytes_.uniform(40.0, 160.0);
        p.manning_n = bytes_.uniform(0.008, 0.02);
        if (bytes_.chance(0.3)) p.fittings.push_back({.kind = "", .count = bytes_.integer(1, 6), .loss = of(kLoss)});
        if (bytes_.chance(0.1)) p.entry_loss = of(kLoss);
        if (bytes_.chance(0.1)) p.exit_loss = of(kLoss);
        layout_.pipes.push_back(std::move(p));
        if (!gravity && bytes_.chance(0.4)) add_valve();
        return layout_.pipes.back();
    }
    /// On the pipe that was added last.
    void add_valve() {
        layout::Valve v;
        v.id = id("v");
        v.kind = physics::valve_kinds()[static_cast<std::size_t>(bytes_.byte()) % physics::valve_kinds().size()];
        v.loss = of(kLoss);
        v.pipe = static_cast<std::int32_t>(layout_.pipes.size()) - 1;
        layout_.pipes.back().valves.push_back(static_cast<std::int32_t>(layout_.valves.size()));
        layout_.valves.push_back(v);
    }

    Joint pond() {
        layout_.ponds.push_back({.id = id("W"), .place = {}, .level_m = elevation_m()});
        joints_.push_back({layout_.ponds.back().id, HUGE_VAL, layout::Kind::pond});
        return joints_.back();
    }
    Joint vessel(layout::VesselKind kind) {
        layout::Vessel v;
        v.id = id("V");
        v.kind = kind;
        v.floor_m = elevation_m();
        const double height_m = of(kHeight_m), area_m2 = of(kArea_m2);
        v.rim_m = v.floor_m + height_m;
        v.plan_area_m2 = area_m2;
        if (kind == layout::VesselKind::bed) {
            v.media_depth_m = bytes_.uniform(0.1, 1.0) * height_m;
            v.void_fraction = bytes_.uniform(0.05, 0.95);
        }
        v.volume = layout::prism_volume(area_m2, height_m, v.media_depth_m, v.void_fraction);
        v.start_depth_m = bytes_.chance(0.2) ? 0.0 : bytes_.uniform(0.0, 1.0) * height_m;
        layout_.vessels.push_back(std::move(v));
        joints_.push_back({layout_.vessels.back().id, height_m, layout::Kind::vessel});
        return joints_.back();
    }
    std::string tee() {
        layout::Tee t;
        t.id = id("J");
        t.elevation_m = elevation_m();
        layout_.tees.push_back(t);
        return t.id;
    }
    Joint joined_tee() {
        const Joint from = any_joint();
        const std::string t = tee();
        pipe(from.id, t, port_m(from, true));
        joints_.push_back({t, 0.0, layout::Kind::tee});
        return joints_.back();
    }
    void join() {
        const Joint from = any_joint();
        const Joint* to = any_joint_that([&](const Joint& joint) { return joint.id != from.id; });
        if (to == nullptr) return;
        const double to_m = port_m(*to, false);
        layout::Pipe& p = pipe(from.id, to->id, port_m(from, true), to_m);
        if (to->kind == layout::Kind::vessel && bytes_.chance(0.2)) p.air_hole_m = (layout::said(to_m) ? to_m : 0.0) + bytes_.uniform(0.0, 0.3);
    }
    /// Water led from `from` to somewhere.
    void lead_away(const std::string& from, const std::string& not_to) {
        const Joint* to = any_joint_that([&](const Joint& joint) { return joint.id != not_to; });
        const Joint there = to != nullptr ? *to : pond();
        pipe(from, there.id, kNotSaid, port_m(there, false));
    }

    physics::PumpCurve curve(double flow_m3_s, double head_m) {
        std::vector<physics::PumpPoint> points;
        const int count = bytes_.integer(1, 6);
        const double bend = bytes_.uniform(0.5, 3.0), end = bytes_.chance(0.3) ? 0.0 : bytes_.uniform(0.0, 0.9);
        for (int i = 0; i < count; ++i) {
            const double part = count == 1 ? 0.5 : static_cast<double>(i) / (count - 1);
            points.push_back({.flow_m3_s = flow_m3_s * part,
                              .head_m = head_m * (1.0 - (1.0 - end) * std::pow(part, bend)),
                              .power_w = 40.0 + 300.0 * part,
                              .npsh_required_m = 0.5 + part});
        }
        return physics::PumpCurve(points);
    }
    void pump() {
        layout::PumpModel model;
        model.name = id("M");
        const double flow_m3_s = of(kFlow_m3_s), head_m = of(kHead_m);
        model.from_label = bytes_.chance(0.25);
        if (model.from_label) {
            model.greatest_flow_m3_s = flow_m3_s;
            model.greatest_head_m = head_m;
            model.curve = physics::PumpCurve::from_label({flow_m3_s, head_m});
            model.curve_low = physics::PumpCurve::from_label({flow_m3_s, head_m}, physics::kLabelExponentLow);
            model.curve_high = physics::PumpCurve::from_label({flow_m3_s, head_m}, physics::kLabelExponentHigh);
        } else {
            model.curve = curve(flow_m3_s, head_m);
            model.has_power = model.has_npsh = true;
        }
        layout_.pump_models.push_back(model);
        layout::Pump p;
        p.id = id("P");
        p.model_name = model.name;
        p.count = bytes_.chance(0.2) ? bytes_.integer(2, 9) : 1;
        p.wear = bytes_.chance(0.2) ? bytes_.uniform(0.0, 0.99) : 0.0;
        p.check_valve = bytes_.chance(0.5);
        if (bytes_.chance(0.3)) {
            p.stopped_flow_m3_s = of(kFlow_m3_s);
            p.stopped_head_m = of(kHead_m);
        }
        const Joint from = any_joint();
        if (from.kind == layout::Kind::tee) {  // fed by a pipe
            p.elevation_m = elevation_m();
            layout_.pumps.push_back(p);
            pipe(from.id, p.id);
        } else {
            p.in_id = from.id;
            p.intake_height_m = from.kind == layout::Kind::vessel ? bytes_.uniform(0.0, 0.95) * from.height_m : 0.0;
            layout_.pumps.push_back(p);
        }
        lead_away(p.id, from.id);
    }
    void filter() {
        layout::Filter f;
        f.id = id("F");
        double flow_m3_s = of(kFlow_m3_s), head_m = of(kHead_m);
        const double factor = bytes_.uniform(1.0, 20.0);
        for (int i = bytes_.integer(1, 3); i > 0; --i) {
            f.clean.push_back({flow_m3_s, head_m});
            f.dirty.push_back({flow_m3_s, head_m * factor});
            flow_m3_s *= bytes_.uniform(1.5, 4.0);
            head_m *= bytes_.uniform(1.5, 10.0);
        }
        if (bytes_.chance(0.3)) f.dirty.clear();
        layout_.filters.push_back(f);
        const Joint from = any_joint();
        pipe(from.id, f.id, port_m(from, true));
        lead_away(f.id, from.id);
    }
    void nozzle() {
        const Joint* into = any_joint_that([](const Joint& joint) { return joint.kind != layout::Kind::tee; });
        const Joint* from = any_joint_that([&](const Joint& joint) { return joint.id != into->id; });
        if (from == nullptr) return;
        layout::Nozzle n;
        n.id = id("Z");
        n.into_id = into->id;
        n.height_m = into->kind == layout::Kind::vessel ? bytes_.uniform(0.0, 1.2) * into->height_m : 0.0;
        if (bytes_.chance(0.6)) {
            n.holes = bytes_.integer(1, 40);
            n.hole_diameter_m = of(kSmallHole_m);
        } else {
            n.rated_flow_m3_s = of(kFlow_m3_s);
            n.rated_head_m = of(kHead_m);
        }
        layout_.nozzles.push_back(n);
        pipe(from->id, n.id, port_m(*from, true));
    }
    std::string supply() {
        layout_.supplies.push_back({.id = id("S"), .place = {}, .head_m = of(kHead_m), .elevation_m = elevation_m()});
        return layout_.supplies.back().id;
    }
    void float_valve() {
        const Joint* into = any_joint_that([](const Joint& joint) { return joint.kind == layout::Kind::vessel; });
        layout::FloatValve v;
        v.id = id("X");
        v.into_id = into->id;
        v.opens_at_m = bytes_.uniform(0.0, 0.8) * into->height_m;
        v.closes_at_m = v.opens_at_m + bytes_.log_uniform(1e-4, 0.2) * into->height_m;
        v.rated_flow_m3_s = of(kFlow_m3_s);
        v.rated_head_m = of(kHead_m);
        if (bytes_.chance(0.3)) v.height_m = bytes_.uniform(0.0, 1.2) * into->height_m;
        layout_.float_valves.push_back(v);
        pipe(supply(), v.id);
    }
    /// A vented tee with the drain that leads away from it; where drains may end.
    void collector() {
        const Joint* to = any_joint_that([](const Joint& joint) { return joint.kind != layout::Kind::tee; });
        const double to_m = port_m(*to, false);
        const std::string end = to->id;
        const std::string t = tee();
        layout_.tees.back().vented = true;
        collectors_.push_back(t);
        pipe(t, end, kNotSaid, to_m, true);
    }
    void drain(const std::string& from, const std::string& not_to, double from_m) {
        if (!collectors_.empty() && bytes_.chance(0.4)) {
            pipe(from, collectors_[bytes_.byte() % collectors_.size()], from_m, kNotSaid, true);
            return;
        }
        const Joint* to = any_joint_that([&](const Joint& joint) { return joint.kind != layout::Kind::tee && joint.id != not_to; });
        const Joint there = to != nullptr ? *to : pond();
        pipe(from, there.id, from_m, port_m(there, false), true);
    }
    void standpipe() {
        constexpr layout::VesselKind kKinds[] = {layout::VesselKind::bed, layout::VesselKind::tank, layout::VesselKind::trough,
                                                 layout::VesselKind::tier};
        const Joint in = bytes_.chance(0.7) ? vessel(kKinds[bytes_.integer(0, 3)])
                                            : *any_joint_that([](const Joint& joint) { return joint.kind == layout::Kind::vessel; });
        layout::Standpipe s;
        s.id = id("S");
        s.in_id = in.id;
        s.bore_m = of(kBore_m);
        s.inserts.push_back({"tall", bytes_.uniform(0.0, 1.0) * in.height_m});
        if (bytes_.chance(0.6)) s.inserts.push_back({"short", bytes_.uniform(0.0, 1.0) * s.inserts[0].lip_m});
        for (int i = bytes_.integer(0, 2); i > 0; --i)
            s.holes.push_back({.height_m = bytes_.uniform(0.0, 1.0) * in.height_m, .diameter_m = of(kSmallHole_m), .count = bytes_.integer(1, 9)});
        layout_.standpipes.push_back(s);
        drain(s.id, in.id, kNotSaid);
    }
    void siphon() {
        const Joint in = bytes_.chance(0.7) ? vessel(layout::VesselKind::bed)
                                            : *any_joint_that([](const Joint& joint) { return joint.kind == layout::Kind::vessel; });
        layout::Siphon s;
        s.id = id("Y");
        s.in_id = in.id;
        s.bore_m = of(kBore_m);
        s.crest_m = bytes_.uniform(0.1, 1.0) * in.height_m;
        s.breaks_at_m = bytes_.uniform(0.0, 0.9) * s.crest_m;
        s.starts_with_m3_s = of(kFlow_m3_s);
        s.loss = of(kLoss);
        layout_.siphons.push_back(s);
        if (bytes_.chance(0.6))
            drain(s.id, in.id, kNotSaid);
        else
            lead_away(s.id, in.id);
    }
    /// Three pipes at a tee that has the loss of a header.
    void header_tee() {
        const Joint from = any_joint();
        const Joint* one = any_joint_that([&](const Joint& joint) { return joint.id != from.id; });
        const Joint run = one != nullptr ? *one : pond();
        const std::string t = tee();
        const std::size_t self = layout_.tees.size() - 1;
        pipe(from.id, t, port_m(from, true));
        pipe(t, run.id, kNotSaid, port_m(run, false));
        lead_away(t, from.id);
        layout_.tees[self].loss = layout::TeeLoss::header;
        layout_.tees[self].branch_id = layout_.pipes.back().id;
        layout_.tees[self].branch_angle_deg = bytes_.chance(0.5) ? 90.0 : bytes_.uniform(45.0, 90.0);
    }
    void tap() {
        const Joint* at = any_joint_that([](const Joint& joint) { return joint.kind == layout::Kind::tee; });
        const std::string here = at != nullptr ? at->id : joined_tee().id;
        const auto found = std::ranges::find(layout_.tees, here, &layout::Tee::id);
        found->takes_m3_s = of(kFlow_m3_s);
    }
    void port_drain() {
        const Joint* from = any_joint_that([](const Joint& joint) { return joint.kind == layout::Kind::vessel; });
        const Joint here = *from;
        drain(here.id, here.id, bytes_.uniform(0.0, 1.0) * here.height_m);
    }

    void add_thing() {
        constexpr layout::VesselKind kKinds[] = {layout::VesselKind::tank, layout::VesselKind::sump, layout::VesselKind::trough,
                                                 layout::VesselKind::vessel};
        switch (bytes_.integer(0, 19)) {
            case 0: pond(); break;
            case 1: vessel(kKinds[bytes_.integer(0, 3)]); break;
            case 2:
            case 3: joined_tee(); break;
            case 4:
            case 5:
            case 6: join(); break;
            case 7:
            case 8:
            case 9: pump(); break;
            case 10: filter(); break;
            case 11: nozzle(); break;
            case 12: {
                const std::string from = supply();
                lead_away(from, from);
                break;
            }
            case 13: float_valve(); break;
            case 14: collector(); break;
            case 15: standpipe(); break;
            case 16: siphon(); break;
            case 17: header_tee(); break;
            case 18: tap(); break;
            default: port_drain(); break;
        }
    }

    void arrangements() {
        layout::Arrangement drawn;
        drawn.name = "as drawn";
        drawn.at_start_levels = bytes_.chance(0.25);
        layout_.arrangements.push_back(drawn);
        for (int i = bytes_.integer(0, 2); i > 0; --i) {
            layout::Arrangement a;
            a.name = "varied " + std::to_string(i);
            a.at_start_levels = bytes_.chance(0.25);
            const auto say = [&](layout::Act act, const std::string& about, double value = kNotSaid, const std::string& insert = "") {
                a.settings.push_back({.act = act, .place = {}, .about_id = about, .about = {}, .value = value, .insert = insert});
            };
            for (const auto& valve : layout_.valves) {
                if (physics::valve_is_one_way(valve.kind)) continue;
                if (bytes_.chance(0.2))
                    say(layout::Act::close, valve.id);
                else if (bytes_.chance(0.5))
                    say(layout::Act::throttle, valve.id, of(kOpening));
            }
            for (const auto& pump : layout_.pumps)
                if (bytes_.chance(0.2))
                    say(layout::Act::stop, pump.id);
                else if (bytes_.chance(0.4))
                    say(layout::Act::run, pump.id, bytes_.uniform(0.01, 1.2));
            for (const auto& standpipe : layout_.standpipes)
                if (bytes_.chance(0.5)) say(layout::Act::fit, standpipe.id, kNotSaid, standpipe.inserts.back().name);
            for (const auto& filter : layout_.filters)
                if (bytes_.chance(0.5)) say(layout::Act::load, filter.id, bytes_.uniform(0.0, 1.0));
            layout_.arrangements.push_back(std::move(a));
        }
    }

    Bytes& bytes_;
    double far_ = 0.0, last_elevation_m_ = 0.0;
    layout::Layout layout_;
    std::vector<Joint> joints_;
    std::vector<std::string> collectors_;
    int count_ = 0;
};

void must_be_valid(layout::Layout& layout) {
    const auto problems = layout::validate(layout);
    if (!problems.empty()) broken("the farms built here are valid: " + problems.front().says);
}

}  // namespace

layout::Layout extreme_farm(Bytes& bytes) {
    layout::Layout layout = Builder(bytes).build();
    must_be_valid(layout);
    return layout;
}

void add_routine(layout::Layout& layout, Bytes& bytes) {
    layout::Routine routine;
    routine.name = "from bytes";
    routine.arrangement_name = layout.arrangements[0].name;
    routine.lasts_s = bytes.log_uniform(60.0, 6.0 * 3600.0);
    const auto turn = [&](const std::string& about) {
        layout::Timer timer;
        timer.about_id = about;
        timer.every_s = bytes.log_uniform(0.02, 0.9) * routine.lasts_s;
        timer.for_s = bytes.uniform(0.05, 1.0) * timer.every_s;
        timer.after_s = bytes.chance(0.5) ? 0.0 : bytes.uniform(0.0, 0.5) * routine.lasts_s;
        routine.timers.push_back(timer);
    };
    for (const auto& valve : layout.valves)
        if (!physics::valve_is_one_way(valve.kind) && bytes.chance(0.25)) turn(valve.id);
    for (const auto& pump : layout.pumps)
        if (bytes.chance(0.25)) turn(pump.id);
    if (bytes.chance(0.6)) {
        layout::PowerCut cut;
        cut.at_s = bytes.uniform(0.0, 0.9) * routine.lasts_s;
        cut.for_s = bytes.log_uniform(0.01, 0.5) * routine.lasts_s;
        routine.power_cuts = {cut};
    }
    if (!layout.pumps.empty() && bytes.chance(0.2)) {
        layout::Failure failure;
        failure.pump_id = layout.pumps[bytes.byte() % layout.pumps.size()].id;
        failure.at_s = bytes.uniform(0.0, 0.9) * routine.lasts_s;
        routine.failures = {failure};
    }
    if (bytes.chance(0.2)) {
        layout::Uptake uptake;
        uptake.from_id = layout.vessels[bytes.byte() % layout.vessels.size()].id;
        uptake.rate_m3_s = bytes.log_uniform(1e-9, 1e-3);
        routine.uptakes = {uptake};
    }
    layout.routines = {routine};
    must_be_valid(layout);
}

}  // namespace ebb::fuzz
