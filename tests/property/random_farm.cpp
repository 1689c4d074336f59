#include "tests/property/random_farm.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace ebb::test {

using layout::Layout;

std::uint64_t Random::next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
}
double Random::uniform(double low, double high) { return low + (high - low) * static_cast<double>(next() >> 11) * 0x1p-53; }
double Random::log_uniform(double low, double high) { return std::exp(uniform(std::log(low), std::log(high))); }
int Random::integer(int low, int high) { return low + static_cast<int>(next() % static_cast<std::uint64_t>(high - low + 1)); }

namespace {

class Builder {
public:
    explicit Builder(std::uint64_t seed) : random_(seed * 2654435761ULL + 12345), style_(style_of(seed)) {
        layout_.name = "random farm " + std::to_string(seed);
        layout_.friction = random_.chance(0.25) ? layout::FrictionLaw::hazen_williams : layout::FrictionLaw::darcy_weisbach;
        layout_.water_temperature_c = random_.uniform(8.0, 30.0);
        layout_.altitude_m = random_.chance(0.5) ? 0.0 : random_.uniform(0.0, 2000.0);
    }

    Layout build() {
        switch (style_) {
            case FarmStyle::mesh: mesh(); break;
            case FarmStyle::farm: farm(); break;
            case FarmStyle::heap: heap(); break;
        }
        arrangements();
        return std::move(layout_);
    }

private:
    std::string id(const char* prefix) { return prefix + std::to_string(++count_); }

    layout::Pipe& pipe(const std::string& from, const std::string& to, double from_height = layout::kNotSaid, double to_height = layout::kNotSaid) {
        layout::Pipe p;
        p.id = id("p");
        p.from.id = from;
        p.to.id = to;
        p.from.height_m = from_height;
        p.to.height_m = to_height;
        p.length_m = random_.log_uniform(0.2, 60.0);
        p.bore_m = random_.log_uniform(0.012, 0.15);
        p.roughness_m = random_.chance(0.3) ? 0.0 : random_.log_uniform(1e-6, 5e-4);
        p.hazen_williams_c = random_.uniform(90.0, 155.0);
        p.manning_n = 0.010;
        if (random_.chance(0.4)) p.fittings.push_back({.kind = "", .count = random_.integer(1, 6), .loss = random_.uniform(0.05, 2.0)});
        layout_.pipes.push_back(p);
        if (random_.chance(0.45)) add_valve(layout_.pipes.size() - 1);
        return layout_.pipes.back();
    }

    void add_valve(std::size_t pipe) {
        layout::Valve v;
        v.id = id("v");
        const bool check = random_.chance(0.15);
        constexpr physics::ValveKind kKinds[] = {physics::ValveKind::ball, physics::ValveKind::gate, physics::ValveKind::butterfly,
                                                 physics::ValveKind::globe, physics::ValveKind::diaphragm};
        v.kind = check ? physics::ValveKind::check : kKinds[random_.integer(0, 4)];
        v.loss = random_.log_uniform(0.05, 10.0);
        v.pipe = static_cast<std::int32_t>(pipe);
        layout_.pipes[pipe].valves.push_back(static_cast<std::int32_t>(layout_.valves.size()));
        layout_.valves.push_back(v);
    }

    void drain(const std::string& from, const std::string& to, double to_height, double length_per_fall = 0.0) {
        layout::Pipe p;
        p.id = id("d");
        p.gravity = true;
        p.from.id = from;
        p.to.id = to;
        p.to.height_m = to_height;
        p.length_m = length_per_fall > 0.0 ? length_per_fall : random_.uniform(0.4, 8.0);
        p.bore_m = random_.uniform(0.03, 0.12);
        p.roughness_m = 1.5e-6;
        p.hazen_williams_c = 150.0;
        p.manning_n = 0.010;
        layout_.pipes.push_back(p);
    }

    std::string tee(double elevation, bool vented = false) {
        layout::Tee t;
        t.id = id("J");
        t.elevation_m = elevation;
        t.vented = vented;
        layout_.tees.push_back(t);
        return t.id;
    }

    std::string pond(double level) {
        layout_.ponds.push_back({.id = id("W"), .place = {}, .level_m = level});
        return layout_.ponds.back().id;
    }

    layout::Vessel& vessel(layout::VesselKind kind, double floor, double height, double area) {
        layout::Vessel v;
        v.id = id("V");
        v.kind = kind;
        v.floor_m = floor;
        v.rim_m = floor + height;
        v.plan_area_m2 = area;
        const bool media = kind == layout::VesselKind::bed;
        v.media_depth_m = media ? 0.85 * height : layout::kNotSaid;
        v.void_fraction = media ? random_.uniform(0.25, 0.5) : layout::kNotSaid;
        v.volume = layout::prism_volume(area, height, v.media_depth_m, v.void_fraction);
        v.start_depth_m = media || kind == layout::VesselKind::tier ? 0.0 : random_.uniform(0.3, 0.9) * height;
        layout_.vessels.push_back(v);
        return layout_.vessels.back();
    }

    std::int32_t pump_model() {
        layout::PumpModel model;
        model.name = id("M");
        const double flow = random_.log_uniform(3e-4, 1e-2), head = random_.log_uniform(1.5, 20.0);
        const int points = random_.integer(2, 7);
        std::vector<physics::PumpPoint> curve;
        const double bend = random_.uniform(1.0, 3.0);
        for (int i = 0; i < points; ++i) {
            const double q = static_cast<double>(i) / (points - 1);
            curve.push_back(
                {.flow_m3_s = flow * q, .head_m = head * (1.0 - 0.95 * std::pow(q, bend)), .power_w = 40.0 + 300.0 * q, .npsh_required_m = 0.5 + q});
        }
        model.has_power = model.has_npsh = true;
        model.curve = physics::PumpCurve(curve);
        layout_.pump_models.push_back(model);
        return static_cast<std::int32_t>(layout_.pump_models.size()) - 1;
    }

    std::string pump(const std::string& in, double intake) {
        layout::Pump p;
        p.id = id("P");
        p.model = pump_model();
        p.model_name = layout_.pump_models[static_cast<std::size_t>(p.model)].name;
        p.in_id = in;
        p.intake_height_m = intake;
        p.count = random_.chance(0.2) ? 2 : 1;
        p.wear = random_.chance(0.2) ? random_.uniform(0.0, 0.3) : 0.0;
        p.check_valve = random_.chance(0.6);
        if (random_.chance(0.3)) {
            p.stopped_flow_m3_s = 1e-3;
            p.stopped_head_m = random_.log_uniform(0.05, 5.0);
        }
        layout_.pumps.push_back(p);
        return p.id;
    }

    // ------------------------------------------------------------------------------------------------ styles

    void mesh() {
        const int ponds = random_.integer(1, 4), tees = random_.integer(1, 18);
        std::vector<std::string> nodes;
        for (int i = 0; i < ponds; ++i) nodes.push_back(pond(random_.uniform(0.0, 20.0)));
        for (int i = 0; i < tees; ++i) nodes.push_back(tee(random_.uniform(-2.0, 10.0)));
        // a tree, then chords
        for (std::size_t i = 1; i < nodes.size(); ++i) pipe(nodes[static_cast<std::size_t>(random_.integer(0, static_cast<int>(i) - 1))], nodes[i]);
        const int chords = random_.integer(0, tees);
        for (int i = 0; i < chords; ++i) {
            const auto a = random_.integer(0, static_cast<int>(nodes.size()) - 1), b = random_.integer(0, static_cast<int>(nodes.size()) - 1);
            if (a != b) pipe(nodes[static_cast<std::size_t>(a)], nodes[static_cast<std::size_t>(b)]);
        }
        const int pumps = random_.integer(0, 3);
        for (int i = 0; i < pumps; ++i) {
            const std::string in = nodes[static_cast<std::size_t>(random_.integer(0, ponds - 1))];
            const std::string p = pump(in, 0.0);
            pipe(p, nodes[static_cast<std::size_t>(random_.integer(ponds, static_cast<int>(nodes.size()) - 1))]);
        }
        if (random_.chance(0.3)) {
            layout_.supplies.push_back({.id = id("S"), .place = {}, .head_m = random_.uniform(5.0, 40.0), .elevation_m = 0.0});
            pipe(layout_.supplies.back().id, nodes.back());
        }
    }

    void farm() {
        const double room = random_.uniform(0.9, 1.8);
        const auto& sump = vessel(layout::VesselKind::sump, -room, room + 0.3, random_.uniform(0.8, 4.0));
        const std::string sump_id = sump.id;
        const double sump_floor = sump.floor_m;
        std::string second = sump_id;
        double second_floor = sump_floor;
        if (random_.chance(0.5)) {
            const auto& other = vessel(layout::VesselKind::sump, -room + random_.uniform(-0.2, 0.2), room + 0.3, random_.uniform(0.8, 4.0));
            second = other.id;
            second_floor = other.floor_m;
            pipe(sump_id, second, random_.uniform(0.0, 0.2), random_.uniform(0.0, 0.2));
        }
        std::string source = pump(sump_id, random_.uniform(0.02, 0.2));
        if (random_.chance(0.4)) {
            layout::Filter f;
            f.id = id("F");
            f.clean.push_back({random_.log_uniform(5e-4, 5e-3), random_.uniform(0.2, 1.0)});
            f.dirty.push_back({f.clean[0].flow_m3_s, f.clean[0].head_m * random_.uniform(2.0, 5.0)});
            layout_.filters.push_back(f);
            pipe(source, f.id);
            source = f.id;
        }
        std::string header = tee(random_.uniform(0.0, 0.5));
        pipe(source, header);
        if (random_.chance(0.3)) {
            const std::string other = pump(second, random_.uniform(0.02, 0.2));
            pipe(other, header);
        }
        const std::string collector = random_.chance(0.6) ? tee(0.0, true) : std::string();
        if (!collector.empty()) drain(collector, second, second_floor < -0.6 ? -second_floor - random_.uniform(0.1, 0.5) : 0.3);
        const int outlets = random_.integer(1, 8);
        for (int i = 0; i < outlets; ++i) {
            outlet(header, collector, random_.chance(0.5) ? sump_id : second, random_.chance(0.5) ? sump_floor : second_floor);
            if (random_.chance(0.4)) {
                const std::string next = tee(random_.uniform(0.0, 0.5));
                pipe(header, next);
                header = next;
            }
        }
        if (random_.chance(0.3)) top_up(sump_id);
    }

    void outlet(const std::string& header, const std::string& collector, const std::string& sump, double sump_floor) {
        const int what = random_.integer(0, 3);
        if (what <= 1) {  // bed or tank with a standpipe
            const double height = random_.uniform(0.3, 1.2);
            const auto& v =
                vessel(what == 0 ? layout::VesselKind::bed : layout::VesselKind::tank, random_.uniform(0.3, 1.2), height, random_.uniform(0.5, 4.0));
            const std::string vid = v.id;
            pipe(header, vid, layout::kNotSaid, random_.uniform(0.1, 1.1) * height);
            layout::Standpipe s;
            s.id = id("S");
            s.in_id = vid;
            s.bore_m = random_.uniform(0.025, 0.11);
            s.inserts.push_back({"tall", 0.8 * height});
            s.inserts.push_back({"short", 0.3 * height});
            if (random_.chance(0.5))
                s.holes.push_back({.height_m = random_.chance(0.5) ? 0.0 : 0.1 * height,
                                   .diameter_m = random_.uniform(0.004, 0.012),
                                   .count = random_.integer(1, 3)});
            layout_.standpipes.push_back(s);
            if (!collector.empty() && random_.chance(0.6))
                drain(s.id, collector, layout::kNotSaid);
            else
                drain(s.id, sump, -sump_floor * random_.uniform(0.0, 1.0));
        } else if (what == 2) {  // tank with a plain return
            const double height = random_.uniform(0.8, 1.5);
            const auto& v = vessel(layout::VesselKind::tank, random_.uniform(0.0, 0.6), height, random_.uniform(0.8, 5.0));
            const std::string vid = v.id;
            pipe(header, vid, layout::kNotSaid, random_.uniform(0.2, 1.05) * height);
            pipe(vid, sump, random_.uniform(0.0, 0.6) * height, random_.uniform(0.0, 1.0) * -sump_floor).bore_m = random_.uniform(0.05, 0.15);
        } else {  // tier with nozzles and an overflow
            const auto& v = vessel(layout::VesselKind::tier, random_.uniform(1.0, 2.2), 0.15, 1.2);
            const std::string vid = v.id;
            layout::Nozzle n;
            n.id = id("Z");
            n.into_id = vid;
            n.height_m = random_.uniform(0.0, 0.3);
            n.holes = random_.integer(3, 20);
            n.hole_diameter_m = random_.uniform(0.002, 0.004);
            layout_.nozzles.push_back(n);
            pipe(header, n.id);
            layout::Standpipe s;
            s.id = id("S");
            s.in_id = vid;
            s.bore_m = random_.uniform(0.025, 0.06);
            s.inserts.push_back({"only", 0.06});
            layout_.standpipes.push_back(s);
            drain(s.id, sump, -sump_floor);
        }
    }

    void top_up(const std::string& sump) {
        layout_.supplies.push_back({.id = id("S"), .place = {}, .head_m = random_.uniform(10.0, 40.0), .elevation_m = 0.0});
        const std::string from = layout_.supplies.back().id;
        layout::FloatValve v;
        v.id = id("X");
        v.into_id = sump;
        v.opens_at_m = random_.uniform(0.3, 0.5);
        v.closes_at_m = v.opens_at_m + random_.uniform(0.02, 0.08);
        v.rated_flow_m3_s = random_.log_uniform(3e-5, 5e-4);
        v.rated_head_m = 20.0;
        layout_.float_valves.push_back(v);
        pipe(from, v.id);
    }

    void heap() {
        const int vessels = random_.integer(2, 8), tees = random_.integer(0, 5);
        std::vector<std::string> nodes;
        std::vector<double> height;
        for (int i = 0; i < vessels; ++i) {
            const double h = random_.uniform(0.5, 2.0);
            nodes.push_back(vessel(layout::VesselKind::vessel, random_.uniform(-1.0, 3.0), h, random_.log_uniform(0.3, 8.0)).id);
            height.push_back(h);
        }
        for (int i = 0; i < tees; ++i) nodes.push_back(tee(random_.uniform(-1.0, 2.0)));
        const auto port = [&](std::size_t n) { return n < height.size() ? random_.uniform(0.0, 1.05) * height[n] : layout::kNotSaid; };
        const auto join = [&](std::size_t a, std::size_t b) {
            double from = port(a);
            const double to = port(b);
            if (a < height.size()) from = std::min(from, 0.97 * height[a]);  // an outlet stands below the rim; an inlet may pour in from above
            auto& p = pipe(nodes[a], nodes[b], from, to);
            if (b < height.size() && random_.chance(0.2)) p.air_hole_m = to + random_.uniform(0.0, 0.3);
        };
        for (std::size_t i = 1; i < nodes.size(); ++i) join(static_cast<std::size_t>(random_.integer(0, static_cast<int>(i) - 1)), i);
        const int chords = random_.integer(0, static_cast<int>(nodes.size()));
        for (int i = 0; i < chords; ++i) {
            const auto a = static_cast<std::size_t>(random_.integer(0, static_cast<int>(nodes.size()) - 1)),
                       b = static_cast<std::size_t>(random_.integer(0, static_cast<int>(nodes.size()) - 1));
            if (a != b) join(a, b);
        }
        const int pumps = random_.integer(0, 2);
        for (int i = 0; i < pumps; ++i) {
            const auto in = static_cast<std::size_t>(random_.integer(0, vessels - 1)),
                       out = static_cast<std::size_t>(random_.integer(0, vessels - 1));
            if (in == out) continue;
            const std::string p = pump(nodes[in], random_.uniform(0.0, 0.3) * height[in]);
            pipe(p, nodes[out], layout::kNotSaid, port(out));
        }
        if (random_.chance(0.2)) pipe(pond(random_.uniform(0.0, 4.0)), nodes[0], layout::kNotSaid, port(0));
    }

    void arrangements() {
        const int more = random_.integer(0, 2);
        layout::Arrangement drawn;
        drawn.name = "as drawn";
        drawn.at_start_levels = style_ == FarmStyle::mesh ? random_.chance(0.5) : random_.chance(0.2);
        layout_.arrangements.push_back(drawn);
        for (int i = 0; i < more; ++i) {
            layout::Arrangement a;
            a.name = "varied " + std::to_string(i);
            a.at_start_levels = random_.chance(0.25);
            for (const auto& valve : layout_.valves) {
                if (valve.kind == physics::ValveKind::check) continue;
                if (random_.chance(0.3))
                    a.settings.push_back(
                        {.act = layout::Act::close, .place = {}, .about_id = valve.id, .about = {}, .value = layout::kNotSaid, .insert = {}});
                else if (random_.chance(0.3))
                    a.settings.push_back({.act = layout::Act::throttle,
                                          .place = {},
                                          .about_id = valve.id,
                                          .about = {},
                                          .value = random_.uniform(0.05, 1.0),
                                          .insert = {}});
            }
            for (const auto& pump : layout_.pumps) {
                if (random_.chance(0.25))
                    a.settings.push_back(
                        {.act = layout::Act::stop, .place = {}, .about_id = pump.id, .about = {}, .value = layout::kNotSaid, .insert = {}});
                else if (random_.chance(0.3))
                    a.settings.push_back(
                        {.act = layout::Act::run, .place = {}, .about_id = pump.id, .about = {}, .value = random_.uniform(0.4, 1.1), .insert = {}});
            }
            for (const auto& standpipe : layout_.standpipes)
                if (random_.chance(0.5))
                    a.settings.push_back({.act = layout::Act::fit,
                                          .place = {},
                                          .about_id = standpipe.id,
                                          .about = {},
                                          .value = layout::kNotSaid,
                                          .insert = standpipe.inserts.back().name});
            for (const auto& filter : layout_.filters)
                if (random_.chance(0.5))
                    a.settings.push_back({.act = layout::Act::load,
                                          .place = {},
                                          .about_id = filter.id,
                                          .about = {},
                                          .value = random_.uniform(0.0, 1.0),
                                          .insert = {}});
            layout_.arrangements.push_back(a);
        }
    }

    Random random_;
    FarmStyle style_;
    Layout layout_;
    int count_ = 0;
};

}  // namespace

FarmStyle style_of(std::uint64_t seed) { return seed % 5 == 0 ? FarmStyle::mesh : seed % 5 <= 2 ? FarmStyle::farm : FarmStyle::heap; }

Layout random_farm(std::uint64_t seed) { return Builder(seed).build(); }

}  // namespace ebb::test
