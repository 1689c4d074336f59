// Routes. A pipe leaves a thing, goes up or down in a lane of the gutter beside it, runs at one elevation, and goes up or down to its other end: the
// run lies at the elevation of the tee it belongs to, so that headers and collecting drains are seen where they are. Pipes that would lie on one
// another are drawn side by side. A drain from tee to tee is drawn with its fall.

#include "cli/views/report/profile_routes.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace ebb::cli::profile {
namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;

constexpr double kSame = 0.5;           // less is one height
constexpr double kSideBySide = 5.0;     // between pipes drawn beside each other
constexpr double kOverRim = 11.0;       // of a riser that has to get out of its vessel first
constexpr double kUnderFloor = 9.0;     // of a drain before it turns
constexpr double kStub = 10.0;          // of a pipe inside a vessel
constexpr double kAboveFloor = 3.0;     // of a port at the very floor, so that it is seen
constexpr double kUnderSurface = 12.0;  // of a port of a pond

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

/// How a pipe leaves a thing.
enum class Way : std::uint8_t {
    node,    ///< in any direction
    riser,   ///< straight up out of a vessel: its pump
    foot,    ///< straight down out of a vessel: standpipe and siphon
    wall,    ///< through the side of a vessel
    device,  ///< to a nozzle or float valve in a vessel, from the side
};

struct End {
    Way way = Way::node;
    Ref ref;
    std::int32_t slot = 0;
    double y = 0.0;
    int side = 0;           // -1 left, 1 right
    bool in_lane = false;   // goes up or down beside its column
    std::int32_t lane = 0;  // in the gutter of that side
    double x = 0.0, lane_x = 0.0;
};

struct Plan {
    End from, to;
    double run_y = 0.0;
    bool sloped = false;
};

class Router {
public:
    Router(const Layout& layout, Places& places) : layout_(layout), places_(places), plans_(layout.pipes.size()) {}

    std::vector<Route> routes() {
        for (std::size_t i = 0; i < plans_.size(); ++i) plans_[i] = planned(layout_.pipes[i]);
        give_lanes();
        place_across(layout_, places_);
        for (Plan& plan : plans_) {
            find_x(plan.from);
            find_x(plan.to);
        }
        part_runs();
        std::vector<Route> routes;
        routes.reserve(plans_.size());
        for (std::size_t i = 0; i < plans_.size(); ++i) routes.push_back(drawn(plans_[i], layout_.pipes[i]));
        return routes;
    }

private:
    // ------------------------------------------------------------------------------------------------------------ ends

    double port_y(const layout::End& end) const {
        if (end.ref.kind == Kind::pond) {
            const double level_m = layout_.ponds[index(end.ref.index)].level_m;
            return end.height() > 0.0 ? places_.axis.y(level_m + end.height()) : places_.axis.y(level_m) + kUnderSurface;
        }
        const layout::Vessel& vessel = layout_.vessels[index(end.ref.index)];
        return std::min(places_.axis.y(vessel.floor_m + end.height()), places_.axis.y(vessel.floor_m) - kAboveFloor);
    }

    double rim_y(const Ref& pump) const {
        const layout::Pump& one = layout_.pumps[index(pump.index)];
        return one.in.kind == Kind::vessel ? places_.vessels[index(one.in.index)].top : places_.ponds[index(one.in.index)].top;
    }

    End end_of(const layout::End& end) const {
        End made;
        made.ref = end.ref;
        made.slot = places_.slot(end.ref);
        switch (end.ref.kind) {
            case Kind::vessel:
            case Kind::pond:
                made.way = Way::wall;
                made.y = port_y(end);
                return made;
            case Kind::nozzle:
            case Kind::float_valve: made.way = Way::device; break;
            case Kind::standpipe:
            case Kind::siphon: made.way = Way::foot; break;
            case Kind::pump: made.way = layout_.pumps[index(end.ref.index)].in_id.empty() ? Way::node : Way::riser; break;
            default: break;
        }
        made.y = places_.spot(end.ref).at.y;
        return made;
    }

    double run_of(const End& from, const End& to) const {
        if (from.way == Way::riser) {
            const double out = rim_y(from.ref) - kOverRim;
            return std::min(out, to.y);
        }
        if (from.way == Way::foot) return to.y > from.y + kUnderFloor ? to.y : from.y + kUnderFloor;
        if (from.way == Way::node) return from.y;
        if (to.way == Way::node) return to.y;
        return from.y;
    }

    /// A drop under a vessel is straight unless another vessel stands below it.
    bool something_below(const End& foot, double run_y) const {
        const std::int32_t vessel = places_.spot(foot.ref).vessel;
        if (vessel < 0) return false;
        const Column& column = places_.columns[index(places_.vessel_column[index(vessel)])];
        return std::any_of(column.vessels.begin(), column.vessels.end(), [&](std::int32_t other) {
            const Box& box = places_.vessels[index(other)];
            return other != vessel && box.bottom > foot.y && box.top < run_y;
        });
    }

    Plan planned(const layout::Pipe& pipe) const {
        Plan plan;
        plan.from = end_of(pipe.from);
        plan.to = end_of(pipe.to);
        End &from = plan.from, &to = plan.to;
        from.side = to.slot < from.slot ? -1 : 1;
        to.side = from.slot < to.slot ? -1 : 1;
        plan.run_y = run_of(from, to);
        plan.sloped = pipe.gravity && from.way == Way::node && to.way == Way::node;
        const auto beside = [](const End& end) { return end.way == Way::wall || end.way == Way::device; };
        if (from.way == Way::foot && something_below(from, std::max(plan.run_y, to.y))) {
            from.y += kUnderFloor;
            if (from.slot == to.slot) plan.run_y = from.y;
            from.in_lane = std::abs(plan.run_y - from.y) > kSame;
        } else {
            from.in_lane = beside(from) && std::abs(plan.run_y - from.y) > kSame;
        }
        to.in_lane = beside(to) && std::abs(plan.run_y - to.y) > kSame;
        return plan;
    }

    // ------------------------------------------------------------------------------------------------------------ lanes

    struct Wish {
        End* end;
        double top, bottom;
    };

    /// In each gutter the shortest ways up or down stand nearest to their column, and those one above the other share a lane.
    void give_lanes() {
        std::map<std::pair<std::int32_t, int>, std::vector<Wish>> wishes;  // by column and side
        for (Plan& plan : plans_)
            for (End* end : {&plan.from, &plan.to})
                if (end->in_lane) wishes[{end->slot, end->side}].push_back({end, std::min(end->y, plan.run_y), std::max(end->y, plan.run_y)});
        for (auto& [where, all] : wishes) {
            std::stable_sort(all.begin(), all.end(), [](const Wish& a, const Wish& b) { return a.bottom - a.top < b.bottom - b.top; });
            std::vector<std::vector<Wish>> lanes;
            for (const Wish& wish : all) {
                const auto free = std::find_if(lanes.begin(), lanes.end(), [&](const auto& lane) {
                    constexpr double kApart = 12.0;
                    return std::none_of(lane.begin(), lane.end(),
                                        [&](const Wish& other) { return wish.top < other.bottom + kApart && other.top < wish.bottom + kApart; });
                });
                wish.end->lane = static_cast<std::int32_t>(free - lanes.begin());
                if (free == lanes.end())
                    lanes.push_back({wish});
                else
                    free->push_back(wish);
            }
            const std::int32_t column = where.first / 2;
            const auto count = static_cast<std::int32_t>(lanes.size());
            if (where.second < 0)
                places_.gutters[index(column)].right_lanes = count;
            else
                places_.gutters[index(column + 1)].left_lanes = count;
        }
    }

    const Box& box_of(const Ref& ref) const {
        if (ref.kind == Kind::vessel) return places_.vessels[index(ref.index)];
        return places_.ponds[index(ref.index)];
    }

    void find_x(End& end) const {
        if (end.way == Way::wall)
            end.x = end.side < 0 ? box_of(end.ref).left : box_of(end.ref).right;
        else
            end.x = places_.spot(end.ref).at.x;
        const std::int32_t column = end.slot / 2;
        end.lane_x = !end.in_lane ? end.x : end.side < 0 ? places_.right_lane(column, end.lane) : places_.left_lane(column + 1, end.lane);
    }

    // ------------------------------------------------------------------------------------------------------------ side by side

    struct Run {
        std::vector<double*> y;  // moved together
        double left, right, at;
        double first;  // which side to try first
        bool header;
    };

    void add_run(std::vector<Run>& runs, std::vector<double*> y, double x1, double x2, double first, bool header) const {
        constexpr double kShort = 3.0;
        if (std::abs(x1 - x2) < kShort) return;
        const double at = *y.front();
        runs.push_back({std::move(y), std::min(x1, x2), std::max(x1, x2), at, first, header});
    }

    void part_runs() {
        std::vector<Run> runs;
        for (Plan& plan : plans_) {
            if (plan.sloped) continue;
            const double first = plan.to.y < plan.run_y - kSame ? 1.0 : -1.0;
            std::vector<double*> run = {&plan.run_y};
            const bool header = plan.from.way == Way::node && plan.to.way == Way::node && std::abs(plan.from.y - plan.to.y) < kSame;
            if (plan.from.way == Way::wall && !plan.from.in_lane) run.push_back(&plan.from.y);
            if (plan.to.way == Way::wall && !plan.to.in_lane) run.push_back(&plan.to.y);
            const bool fixed = plan.to.way == Way::device && !plan.to.in_lane;  // a nozzle stays where it is
            add_run(runs, std::move(run), plan.from.lane_x, plan.to.lane_x, first, header || fixed);
            if (plan.from.in_lane && plan.from.way == Way::wall) add_run(runs, {&plan.from.y}, plan.from.x, plan.from.lane_x, -1.0, false);
            if (plan.to.in_lane && plan.to.way == Way::wall) add_run(runs, {&plan.to.y}, plan.to.x, plan.to.lane_x, -1.0, false);
        }
        std::stable_sort(runs.begin(), runs.end(), [](const Run& a, const Run& b) {
            return std::make_tuple(!a.header, a.right - a.left) < std::make_tuple(!b.header, b.right - b.left);
        });
        move_apart(runs);
    }

    static void move_apart(std::vector<Run>& runs) {
        std::vector<const Run*> settled;
        for (Run& run : runs) {
            const auto free_at = [&](double y) {
                return std::none_of(settled.begin(), settled.end(), [&](const Run* other) {
                    constexpr double kTouch = 1.0;
                    return std::abs(other->at - y) < kSideBySide - kSame && run.left < other->right - kTouch && other->left < run.right - kTouch;
                });
            };
            constexpr int kMost = 4;
            double chosen = run.at;
            if (!free_at(run.at))
                for (int k = 1; k <= kMost; ++k) {
                    const double there = run.at + run.first * k * kSideBySide, back = run.at - run.first * k * kSideBySide;
                    if (!free_at(there) && !free_at(back)) continue;
                    chosen = free_at(there) ? there : back;
                    break;
                }
            run.at = chosen;
            for (double* y : run.y) *y = chosen;
            settled.push_back(&run);
        }
    }

    // ------------------------------------------------------------------------------------------------------------ corners

    /// The piece of a pipe inside a vessel, from its end outwards.
    std::vector<Point> inside(const End& end, bool pours) const {
        if (end.way == Way::wall) {
            const double in = end.x - end.side * kStub;
            std::vector<Point> points;
            if (pours && end.y < box_of(end.ref).top) points.push_back({in, end.y + kStub / 2.0});  // over the rim: it bends down
            points.push_back({in, end.y});
            points.push_back({end.x, end.y});
            return points;
        }
        if (end.way == Way::device) {
            const Spot& spot = places_.spot(end.ref);
            if (spot.vessel < 0) return {{end.x, end.y}};
            const Box& box = places_.vessels[index(spot.vessel)];
            return {{end.x, end.y}, {end.side < 0 ? box.left : box.right, end.y}};
        }
        if (end.way == Way::riser) return {{end.x, end.y}, {end.x, rim_y(end.ref)}};
        return {{end.x, end.way == Way::foot ? places_.spot(end.ref).at.y : end.y}};
    }

    static void append(std::vector<Point>& points, const Point& next) {
        if (points.size() >= 2) {  // no corner where it goes straight on
            const Point &a = points[points.size() - 2], &b = points.back();
            const bool up = std::abs(a.x - b.x) < kSame && std::abs(b.x - next.x) < kSame,
                       along = std::abs(a.y - b.y) < kSame && std::abs(b.y - next.y) < kSame;
            if ((up && (b.y - a.y) * (next.y - b.y) >= 0.0) || (along && (b.x - a.x) * (next.x - b.x) >= 0.0)) points.pop_back();
        }
        if (points.empty() || std::abs(points.back().x - next.x) >= kSame || std::abs(points.back().y - next.y) >= kSame) points.push_back(next);
    }

    Route drawn(const Plan& plan, const layout::Pipe& /*pipe*/) const {
        Route route;
        const std::vector<Point> begins = inside(plan.from, false);
        std::vector<Point> ends = inside(plan.to, true);
        for (const Point& point : begins) append(route.points, point);
        if (!plan.sloped) {
            append(route.points, {plan.from.x, plan.from.y});
            append(route.points, {plan.from.lane_x, plan.from.y});
            append(route.points, {plan.from.lane_x, plan.run_y});
            append(route.points, {plan.to.lane_x, plan.run_y});
            append(route.points, {plan.to.lane_x, plan.to.y});
        }
        for (auto point = ends.rbegin(); point != ends.rend(); ++point) append(route.points, *point);
        if (begins.size() > 1) route.in_front.push_back(begins);
        if (ends.size() > 1) route.in_front.push_back(std::move(ends));
        return route;
    }

    const Layout& layout_;
    Places& places_;
    std::vector<Plan> plans_;
};

}  // namespace

std::vector<Route> routed(const Layout& layout, Places& places) { return Router(layout, places).routes(); }

}  // namespace ebb::cli::profile
