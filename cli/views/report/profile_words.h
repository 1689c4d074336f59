#pragma once
// The English of the hydraulic profile, in one place. Sentences are made of clauses; a clause with a {name} that is not known is left out. profile.js
// fills the same clauses when the state changes.

#include <array>
#include <string_view>

namespace ebb::cli::profile_words {

inline constexpr std::string_view kTitle = "Hydraulic profile";
inline constexpr std::string_view kCaption = "The farm seen from the side: heights are to scale, what stands where from left to right is not.";
inline constexpr std::string_view kCut = "The zigzag marks cut out heights at which nothing stands.";
inline constexpr std::string_view kHint = "Point at a thing, or step to it with the Tab key, to read its numbers.";
inline constexpr std::string_view kDatum = "datum";
inline constexpr std::string_view kBreak = "a cut in the scale: nothing stands between {above} and {below}";
inline constexpr std::string_view kStill = "no flow";
inline constexpr std::string_view kShut = "shut";
inline constexpr std::string_view kOpen = "open";
inline constexpr std::string_view kStopped = "stopped";
inline constexpr std::string_view kHeadLine = "Line of head";
inline constexpr std::string_view kNoHeadLine = "none";
inline constexpr std::string_view kHeadPath = "{from} to {to}";
inline constexpr std::string_view kHeadCaption = "Dash-dotted: the head along the way {way}.";
inline constexpr std::string_view kHeadCorner = "head at {at}: {head} above the datum";

// Signs and what they mean, under the drawing.
inline constexpr std::string_view kKey = "Signs";
inline constexpr std::string_view kKeyWater = "water and its level";
inline constexpr std::string_view kKeyMedia = "media";
inline constexpr std::string_view kKeyLip = "standpipe, its lip and other lips";
inline constexpr std::string_view kKeySiphon = "siphon";
inline constexpr std::string_view kKeyPump = "pump running";
inline constexpr std::string_view kKeyPumpStopped = "pump stopped";
inline constexpr std::string_view kKeyValveOpen = "valve open";
inline constexpr std::string_view kKeyValveThrottled = "throttled";
inline constexpr std::string_view kKeyValveShut = "shut";
inline constexpr std::string_view kKeyPipe = "pipe and its flow";
inline constexpr std::string_view kKeyDrain = "drain";
inline constexpr std::string_view kKeyStill = "no flow";
inline constexpr std::string_view kKeyTee = "tee";
inline constexpr std::string_view kKeyVented = "tee open to the air";
inline constexpr std::string_view kKeyFilter = "filter";
inline constexpr std::string_view kKeyHead = "line of head";

// Clauses.
inline constexpr std::array<std::string_view, 6> kVessel = {"{depth} deep",   "level {level}", "{rim} below its rim",
                                                            "holds {volume}", "gets {inflow}", "SPILLS {spill} over its rim"};
inline constexpr std::array<std::string_view, 2> kPond = {"level {level}", "gives {flow}"};
inline constexpr std::array<std::string_view, 9> kPipe = {
    "{still}", "{flow} from {from} to {to}", "{velocity}", "loses {loss} of head", "{size}", "bore {bore}", "{length} long",
    "{fall}",  "{fill} of its bore filled"};
inline constexpr std::string_view kFall = "falls {millimetres} a metre";
inline constexpr std::array<std::string_view, 5> kPump = {"{stopped}", "gives {flow} at a head of {head}", "takes {power}",
                                                          "at {speed} of full speed", "intake at {level}"};
inline constexpr std::array<std::string_view, 4> kTee = {"at {level}", "head {head}", "pressure {pressure}", "{air}"};
inline constexpr std::string_view kVented = "open to the air";
inline constexpr std::array<std::string_view, 2> kFilter = {"{flow}", "loses {loss} of head"};
inline constexpr std::array<std::string_view, 2> kNozzle = {"gives {flow}", "head over it {head}"};
inline constexpr std::array<std::string_view, 3> kSupply = {"gives {flow}", "pressure {head}", "at {level}"};
inline constexpr std::array<std::string_view, 2> kFloatValve = {"gives {flow}", "{opening} open"};
inline constexpr std::array<std::string_view, 4> kStandpipe = {"in {vessel}", "lip {lip} above the floor", "takes {flow}", "other lips {others}"};
inline constexpr std::array<std::string_view, 4> kSiphon = {"in {vessel}", "crest {crest} above the floor", "breaks at {breaks}", "takes {flow}"};
inline constexpr std::array<std::string_view, 2> kValve = {"{opening}", "in {pipe}"};

}  // namespace ebb::cli::profile_words
