// The heat maps of `survey`: what each vessel gets by how many things are off, and while one thing alone is off.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <iterator>

#include "cli/views/survey_view.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

constexpr double kPercent = 100.0;

/// Shades by the share of what is wanted.
struct Shade {
    double below;
    std::string_view block, plain, says;
    Ink ink;
};
constexpr double kNothingLeft = 0.05, kFarTooLittle = 0.80, kEnough = 0.995, kPlenty = 1.20;
constexpr std::array<Shade, 5> kShades{{{kNothingLeft, " ", " ", "", Ink::trouble},
                                        {kFarTooLittle, "\u2591", ".", "under 80 %", Ink::trouble},
                                        {kEnough, "\u2592", "-", "to 100 %", Ink::doubt},
                                        {kPlenty, "\u2593", "+", "to 120 %", Ink::good},
                                        {HUGE_VAL, "\u2588", "#", "more", Ink::plain}}};

const Shade& shade_of(double share) {
    return *std::find_if(kShades.begin(), kShades.end() - 1, [share](const Shade& shade) { return share < shade.below; });
}

class Maps {
public:
    Maps(const SurveyScene& scene, const Paint& paint) : scene_(scene), paint_(paint) {
        constexpr double kSeenInAMap = 0.05;
        for (std::size_t v = 0; v < scene.statistics.vessels.size(); ++v)
            if (has_inflow_row(scene, v))
                (same_everywhere(scene.statistics.vessels[v].inflow_m3_s, kSeenInAMap) ? still_
                 : wanted(v) > survey::kNothing                                        ? rows_
                                                                                       : baseless_)
                    .push_back(v);
        for (const std::size_t v : rows_) label_ = std::max(label_, width_of(id(v)));
    }

    std::string whole() const {
        if (rows_.empty()) return {};
        return by_number_off() + one_off();
    }

private:
    const std::string& id(std::size_t vessel) const { return scene_.subject.layout.vessels[vessel].id; }

    double wanted(std::size_t vessel) const {
        const double said = scene_.subject.layout.vessels[vessel].inflow_m3_s;
        return std::isnan(said) ? all_on(vessel) : said;
    }
    double all_on(std::size_t vessel) const { return scene_.statistics.vessels[vessel].inflow_alone.back(); }

    std::string shades() const {
        std::string text = "  ";
        for (const Shade& shade : kShades) {
            if (shade.says.empty()) continue;
            const std::string_view letter = scene_.subject.block_letters ? shade.block : shade.plain;
            text += paint_(shade.ink, std::string(letter) + std::string(letter)) + ' ' + std::string(shade.says) + "   ";
        }
        return text.substr(0, text.find_last_not_of(' ') + 1) + '\n';
    }

    std::string cell(double share, std::size_t wide) const {
        if (std::isnan(share)) return std::string(wide - 1, ' ') + '.';
        const Shade& shade = shade_of(share);
        const std::string_view letter = scene_.subject.block_letters ? shade.block : shade.plain;
        const std::string number = share < 99.995 ? fmt::format("{:>4.0f}", kPercent * share) : ">999";
        std::string gap(wide - 2 - number.size(), ' ');
        return gap + paint_(shade.ink, std::string(letter) + std::string(letter) + number);
    }

    /// A map under its titles, as many columns beside one another as the page takes.
    std::string map(const std::vector<std::size_t>& rows, const std::vector<std::string>& titles,
                    const std::function<double(std::size_t vessel, std::size_t column)>& share) const {
        std::size_t wide = 8;
        for (const std::string& title : titles) wide = std::max(wide, width_of(title) + 2);
        const std::size_t together = std::max<std::size_t>(1, (std::max<std::size_t>(scene_.subject.width, 60) - 2 - label_) / wide);
        std::string text;
        for (std::size_t begin = 0; begin < titles.size(); begin += together) {
            const std::size_t end = std::min(titles.size(), begin + together);
            std::string head = "  " + std::string(label_, ' ');
            for (std::size_t c = begin; c < end; ++c) head += std::string(wide - width_of(titles[c]), ' ') + titles[c];
            text += (begin == 0 ? "" : "\n") + paint_(Ink::quiet, head) + '\n';
            for (const std::size_t v : rows) {
                std::string line = "  " + id(v) + std::string(label_ - width_of(id(v)), ' ');
                for (std::size_t c = begin; c < end; ++c) line += cell(share(v, c), wide);
                text += line + '\n';
            }
        }
        return text;
    }

    std::string by_number_off() const {
        std::vector<std::string> titles;
        for (std::size_t k = 0; k < scene_.statistics.vessels.front().inflow_at.size(); ++k)
            titles.push_back(k == 0 ? "all on" : fmt::format("{} off", k));
        const auto share = [&](std::size_t v, std::size_t k) {
            const double typical = scene_.statistics.vessels[v].inflow_at[k].median();
            // one combination alone is known exactly
            const bool exact = k == 0 && !std::isnan(scene_.statistics.vessels[v].inflow_alone.back());
            return (exact ? scene_.statistics.vessels[v].inflow_alone.back() : typical) / wanted(v);
        };
        std::vector<std::string> with, without;
        for (const std::size_t v : rows_) (std::isnan(scene_.subject.layout.vessels[v].inflow_m3_s) ? without : with).push_back(id(v));
        std::string of = with.empty() ? "of what each gets with everything on"
                         : without.empty()
                             ? "of what each wants"
                             : fmt::format("of what each wants, and of {} of what it gets with everything on", in_few_words(without, 6));
        std::string text = "\n" + paint_(Ink::title, "What each gets as things are switched off") + '\n';
        text += wrapped("  ",
                        fmt::format("Typical inflow while it is fed, by how many things are off: per cent {}; a point: shut off in all of them.", of),
                        page());
        text += map(rows_, titles, share) + shades();
        std::vector<std::string> still;
        for (const std::size_t v : still_) still.push_back(id(v));
        if (!still.empty())
            text += wrapped("  ", fmt::format("{} {} by less than 5 % throughout.", in_few_words(still, 6), still.size() == 1 ? "changes" : "change"),
                            page());
        std::vector<std::string> baseless;
        for (const std::size_t v : baseless_) baseless.push_back(id(v));
        if (!baseless.empty())
            text += wrapped(
                "  ", fmt::format("Left out, for with everything on there is nothing that it could be a per cent of: {}.", in_few_words(baseless, 6)),
                page());
        return text;
    }

    std::string one_off() const {
        std::vector<std::string> titles;
        for (const survey::Switch& one : scene_.question.switches) titles.push_back(switch_id(scene_.subject.layout, one));
        const auto share = [&](std::size_t v, std::size_t s) { return scene_.statistics.vessels[v].inflow_alone[s] / all_on(v); };
        std::vector<std::size_t> rows;
        std::copy_if(rows_.begin(), rows_.end(), std::back_inserter(rows), [this](std::size_t v) { return all_on(v) > survey::kNothing; });
        const bool there = std::any_of(rows.begin(), rows.end(), [&](std::size_t v) {
            for (std::size_t s = 0; s < titles.size(); ++s)
                if (!std::isnan(share(v, s))) return true;
            return false;
        });
        if (!there) return {};
        std::string text = "\n" + paint_(Ink::title, "What each gets while one thing alone is off") + '\n';
        text += wrapped("  ",
                        fmt::format("Per cent of what it gets with everything on{}; a point: its own feed is off.",
                                    rows.size() < rows_.size() ? " (left out where that is nothing)" : ""),
                        page());
        return text + map(rows, titles, share);
    }

    std::size_t page() const {
        constexpr std::size_t kPage = 100;
        return std::min(scene_.subject.width, kPage);
    }

    const SurveyScene& scene_;
    const Paint& paint_;
    std::vector<std::size_t> rows_;      ///< vessels whose inflow changes so that it can be seen in a map
    std::vector<std::size_t> still_;     ///< the others
    std::vector<std::size_t> baseless_;  ///< those that want nothing and with everything on get nothing: no per cent of it
    std::size_t label_ = 0;
};

}  // namespace

std::string survey_maps(const SurveyScene& scene, const Paint& paint) { return Maps(scene, paint).whole(); }

}  // namespace ebb::cli
