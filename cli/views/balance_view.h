#pragma once
// The answer of `balance` as text, JSON and CSV.

#include <cstdint>
#include <string>
#include <vector>

#include "cli/output.h"
#include "cli/views/view.h"
#include "solver/choose/balance.h"

namespace ebb::cli {

/// An arrangement that the layout written leaves as it was.
struct LeftAlone {
    settle::Answer answer;
};

struct BalanceScene {
    const Subject& subject;
    const choose::BalanceAnswer& answer;
    double bucket_m3 = 0.010;
    bool first_taken = false;  ///< no arrangement was named, and the layout has more than this one
    std::vector<LeftAlone> left_alone{};
};

/// Seconds a bucket takes to fill, and the band in which a measurement passes: a flow within a tenth of what is expected (common practice).
struct BucketTime {
    double seconds = layout::kNotSaid, least_s = layout::kNotSaid, most_s = layout::kNotSaid;
};
BucketTime bucket_time(double bucket_m3, double flow_m3_s);

/// A bucket filled sooner cannot be timed by hand (20 to 30 s at the least, common practice).
inline constexpr double kQuickestBucket_s = 20.0;

/// The smallest usual bucket that takes `flow_m3_s` at least kQuickestBucket_s; 0 when none is large enough.
double bucket_for(double flow_m3_s);

/// Sentences more than one view says. Without marks; "" where there is nothing to say.
std::string balance_headline(const BalanceScene& scene);
std::string worst_sentence(const BalanceScene& scene);              ///< the outlet that lacks most; where none lacks, that has most too much
std::vector<std::string> missed_beside(const BalanceScene& scene);  ///< targets missed that nothing moved is on the way to
std::string by_hand_sentence(const BalanceScene& scene);            ///< what openings of whole per cents cost
std::vector<std::string> left_alone_sentences(const BalanceScene& scene);
std::vector<Finding> balance_findings(const BalanceScene& scene);       ///< what is wrong with the water as it then stands
std::vector<std::string> missing_sentences(const BalanceScene& scene);  ///< why water is missing, and what would be needed
std::vector<std::string> balance_notes(const BalanceScene& scene);      ///< what else to know of the setting

std::string balance_text(const BalanceScene& scene);
void write_balance_json(const BalanceScene& scene, Output& output);
void write_balance_csv(const BalanceScene& scene, Output& output);

}  // namespace ebb::cli
