#include "solver/time/bed_watch.h"

#include <cmath>

namespace ebb::time {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// An inflow above the first has come, below the second it has gone, m3/s (a hundredth of a litre a minute).
constexpr double kFed_m3_s = 2e-7, kUnfed_m3_s = 1e-7;

}  // namespace

BedWatch::BedWatch(const layout::Layout& layout) {
    std::vector<std::uint8_t> has_siphon(layout.vessels.size(), 0);
    for (const auto& siphon : layout.siphons)
        if (siphon.in.kind == layout::Kind::vessel) has_siphon[at(siphon.in.index)] = 1;
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const layout::VesselKind kind = layout.vessels[v].kind;
        const bool bed = kind == layout::VesselKind::bed || kind == layout::VesselKind::tier || has_siphon[v] != 0;
        bed_of_.push_back(bed ? static_cast<std::int32_t>(beds_.size()) : -1);
        if (!bed) continue;
        beds_.emplace_back();
        beds_.back().course.vessel = static_cast<std::int32_t>(v);
        beds_.back().course.has_siphon = has_siphon[v] != 0;
    }
}

BedWatch::Bed* BedWatch::of(std::size_t vessel) { return bed_of_[vessel] >= 0 ? &beds_[at(bed_of_[vessel])] : nullptr; }

void BedWatch::before(std::span<const double> inflow_m3_s) {
    for (Bed& bed : beds_) {
        bed.fed = inflow_m3_s[at(bed.course.vessel)] > kFed_m3_s;
        bed.opened_s = kUnknown;
    }
}

void BedWatch::flows(double t_s, std::span<const double> inflow_m3_s, std::span<const double> outflow_m3_s) {
    for (Bed& bed : beds_) {
        const auto v = at(bed.course.vessel);
        if (!(outflow_m3_s[v] <= bed.course.peak_drain_m3_s)) {
            bed.course.peak_drain_m3_s = outflow_m3_s[v];
            bed.course.peak_drain_at_s = t_s;
        }
        if (!bed.fed && inflow_m3_s[v] > kFed_m3_s) {
            bed.fed = true;
            if (layout::said(bed.opened_s)) {
                if (bed.course.breaks == 0) bed.course.period_s = t_s - bed.opened_s;
                if (layout::said(bed.closed_s)) {
                    const bool in_time = layout::said(bed.drained_s);
                    bed.course.opened_before_drained = !in_time;
                    bed.course.spare_s = in_time ? t_s - bed.drained_s : kUnknown;
                    complete(bed);
                }
            }
            bed.opened_s = t_s;
            bed.lip_s = bed.closed_s = bed.drained_s = kUnknown;
        } else if (bed.fed && inflow_m3_s[v] < kUnfed_m3_s) {
            bed.fed = false;
            bed.course.timed = true;
            bed.closed_s = t_s;
            if (bed.empty) bed.drained_s = t_s;
        }
    }
}

/// The timed cycle under way has all it will have.
void BedWatch::complete(Bed& bed) {
    if (bed.course.breaks > 0) return;
    bed.course.fill_s = bed.lip_s - bed.opened_s;
    bed.course.hold_s = bed.closed_s - bed.lip_s;
    bed.course.drain_s = bed.drained_s - bed.closed_s;
}

void BedWatch::reaches_lip(double t_s, std::size_t vessel) {
    Bed* bed = of(vessel);
    if (bed == nullptr) return;
    ++bed->course.fills;
    if (bed->fed && layout::said(bed->opened_s) && !layout::said(bed->lip_s)) bed->lip_s = t_s;
}

void BedWatch::empty(std::size_t vessel, bool is_empty) {
    if (Bed* bed = of(vessel); bed != nullptr) bed->empty = is_empty;
}

void BedWatch::drained(double t_s, std::size_t vessel) {
    Bed* bed = of(vessel);
    if (bed == nullptr) return;
    bed->empty = true;
    ++bed->course.drains;
    if (!layout::said(bed->closed_s) || layout::said(bed->drained_s)) return;
    bed->drained_s = t_s;
    if (layout::said(bed->opened_s)) complete(*bed);
    if (!layout::said(bed->opened_s)) bed->course.drain_s = t_s - bed->closed_s;
}

void BedWatch::siphon_starts(double t_s, std::size_t vessel) {
    Bed* bed = of(vessel);
    if (bed == nullptr) return;
    ++bed->course.starts;
    bed->started_s = t_s;
}

void BedWatch::siphon_breaks(double t_s, std::size_t vessel) {
    Bed* bed = of(vessel);
    if (bed == nullptr) return;
    ++bed->course.breaks;
    if (layout::said(bed->broke_s)) {
        bed->course.fill_s = bed->started_s - bed->broke_s;
        bed->course.period_s = t_s - bed->broke_s;
    }
    bed->course.hold_s = 0.0;
    bed->course.drain_s = t_s - bed->started_s;
    bed->broke_s = t_s;
}

std::vector<BedCourse> BedWatch::finish(std::span<const std::uint8_t> running, std::span<const std::uint8_t> dribbling) const {
    std::vector<BedCourse> courses;
    for (const Bed& bed : beds_) {
        courses.push_back(bed.course);
        BedCourse& course = courses.back();
        const bool none_complete = std::isnan(course.fill_s) && course.breaks == 0;
        if (none_complete && bed.lip_s > bed.opened_s) course.fill_s = bed.lip_s - bed.opened_s;
        course.never_breaks = running[at(course.vessel)] != 0;
        course.never_starts = dribbling[at(course.vessel)] != 0 && course.starts == 0;
    }
    return courses;
}

}  // namespace ebb::time
