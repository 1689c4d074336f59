#include "cli/survey_parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <system_error>
#include <utility>

#include "cli/messages.h"
#include "solver/survey/survey.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

using nlohmann::json;
using survey::Extreme;
using survey::Histogram;
using survey::Range;
using survey::Statistics;
using survey::Tally;

// Every field goes both ways through one function, so that what is written and what is read cannot differ.

class Writing {
public:
    static constexpr bool kReads = false;
    explicit Writing(json& at) : at_(at) {}
    Writing operator[](const char* key) const { return Writing(at_[key]); }
    template <typename Number>
    void number(Number& value) const {
        at_ = value;
    }
    void number(double& value) const {
        if (std::isfinite(value))
            at_ = value;
        else
            at_ = nullptr;
    }
    template <typename Item, typename Each>
    void list(std::vector<Item>& items, Each each) const {
        at_ = json::array();
        for (Item& item : items) {
            at_.push_back(nullptr);
            each(Writing(at_.back()), item);
        }
    }

private:
    json& at_;
};

class Reading {
public:
    static constexpr bool kReads = true;
    explicit Reading(const json& at) : at_(at) {}
    Reading operator[](const char* key) const { return Reading(at_.at(key)); }
    template <typename Number>
    void number(Number& value) const {
        value = at_.get<Number>();
    }
    void number(double& value) const { value = at_.is_null() ? settle::kUnknown : at_.get<double>(); }
    template <typename Item, typename Each>
    void list(std::vector<Item>& items, Each each) const {
        items.resize(at_.size());
        for (std::size_t i = 0; i < items.size(); ++i) each(Reading(at_.at(i)), items[i]);
    }

private:
    const json& at_;
};

template <typename Way>
void numbers(const Way& way, std::vector<double>& values) {
    way.list(values, [](const Way& one, double& value) { one.number(value); });
}

/// A tally that counted nothing has no first, an extreme that is not there no combination: -1.
template <typename Way>
void combination(const Way& way, std::uint64_t& number) {
    auto written = number == survey::kNoCombination ? std::int64_t{-1} : static_cast<std::int64_t>(number);
    way.number(written);
    number = written < 0 ? survey::kNoCombination : static_cast<std::uint64_t>(written);
}
template <typename Way>
void tally(const Way& way, Tally& value) {
    way["times"].number(value.times);
    combination(way["first"], value.first);
}
template <typename Way>
void extreme(const Way& way, Extreme& value) {
    way["value"].number(value.value);
    combination(way["combination"], value.combination);
}
template <typename Way>
void plain(const Way& way, survey::PlainExtreme& value) {
    way["value"].number(value.value);
    combination(way["combination"], value.named.combination);
    way["words"].number(value.named.words);
}
template <typename Way>
void range(const Way& way, Range& value) {
    extreme(way["least"], value.least);
    extreme(way["greatest"], value.greatest);
    plain(way["plain_least"], value.plain_least);
    plain(way["plain_greatest"], value.plain_greatest);
}

/// [[bin, times], ...]
template <typename Way>
void histogram(const Way& way, Histogram& value) {
    std::vector<Histogram::Bin> bins = value.bins();
    way.list(bins, [](const Way& one, Histogram::Bin& bin) {
        std::vector<std::uint64_t> pair{static_cast<std::uint64_t>(bin.bin), bin.times};
        one.list(pair, [](const Way& number, std::uint64_t& entry) { number.number(entry); });
        bin = {static_cast<int>(pair.at(0)), pair.at(1)};
    });
    if constexpr (Way::kReads)
        for (const Histogram::Bin& bin : bins) {
            if (bin.bin < 0 || bin.bin >= Histogram::kBins) throw std::out_of_range("bin");
            value.add(bin.bin, bin.times);
        }
}

template <typename Way>
void vessel(const Way& way, survey::VesselStatistics& value) {
    tally(way["fed"], value.fed);
    tally(way["nothing"], value.nothing);
    range(way["inflow_m3_s"], value.inflow_m3_s);
    range(way["turnover_s"], value.turnover_s);
    range(way["depth_m"], value.depth_m);
    tally(way["below_least"], value.below_least);
    tally(way["spills"], value.spills);
    extreme(way["spill_m3_s"], value.spill_m3_s);
    extreme(way["spilled_m3"], value.spilled_m3);
    way["inflow_at"].list(value.inflow_at, [](const Way& one, Histogram& at) { histogram(one, at); });
    numbers(way["least_inflow_at"], value.least_inflow_at);
    numbers(way["least_with_on"], value.least_with_on);
    numbers(way["least_with_off"], value.least_with_off);
    numbers(way["inflow_alone"], value.inflow_alone);
}

template <typename Way>
void pump(const Way& way, survey::PumpStatistics& value) {
    tally(way["runs"], value.runs);
    tally(way["below_best"], value.below_best);
    tally(way["above_best"], value.above_best);
    tally(way["nothing"], value.nothing);
    tally(way["bare"], value.bare);
    tally(way["beyond"], value.beyond);
    tally(way["shut"], value.shut);
    range(way["flow_m3_s"], value.flow_m3_s);
    range(way["head_m"], value.head_m);
    range(way["power_w"], value.power_w);
    range(way["best_ratio"], value.best_ratio);
    histogram(way["flows"], value.flows);
}

template <typename Way>
void tee(const Way& way, survey::TeeStatistics& value) {
    tally(way["breaks"], value.breaks);
    tally(way["vacuum"], value.vacuum);
    extreme(way["pressure_m"], value.pressure_m);
}

template <typename Way>
void target(const Way& way, survey::TargetStatistics& value) {
    way["met"].number(value.met);
    way["not_asked"].number(value.not_asked);
    way["unknown"].number(value.unknown);
    tally(way["missed"], value.missed);
    way["first_missed"].list(value.first_missed, [](const Way& one, std::uint64_t& number) { one.number(number); });
    plain(way["shortfall"], value.shortfall);
    way["worst_got"].number(value.worst_got);
}

template <typename Way, std::size_t kCount>
void tallies(const Way& way, std::array<Tally, kCount>& value) {
    std::vector<Tally> list(value.begin(), value.end());
    way.list(list, [](const Way& one, Tally& entry) { tally(one, entry); });
    for (std::size_t i = 0; i < value.size(); ++i) value.at(i) = list.at(i);
}

template <typename Way>
void statistics(const Way& way, Statistics& value) {
    way["rows"].number(value.rows);
    tallies(way["states"], value.states);
    tallies(way["alarms"], value.alarms);
    tally(way["all_met"], value.all_met);
    way["vessels"].list(value.vessels, [](const Way& one, survey::VesselStatistics& entry) { vessel(one, entry); });
    way["pumps"].list(value.pumps, [](const Way& one, survey::PumpStatistics& entry) { pump(one, entry); });
    way["tees"].list(value.tees, [](const Way& one, survey::TeeStatistics& entry) { tee(one, entry); });
    way["targets"].list(value.targets, [](const Way& one, survey::TargetStatistics& entry) { target(one, entry); });
    way["most_worst"].number(value.most_worst);
    way["worst"].list(value.worst, [](const Way& one, survey::BadCombination& entry) {
        one["runs_dry"].number(entry.runs_dry);
        one["troubles"].number(entry.troubles);
        one["missed"].number(entry.missed);
        one["shortfall"].number(entry.shortfall);
        combination(one["combination"], entry.combination);
    });
}

template <typename Way>
void question(const Way& way, PartQuestion& value) {
    way["layout_checksum"].number(value.layout_checksum);
    way["arrangement"].number(value.arrangement);
    way["first_taken"].number(value.first_taken);
    way["switches"].list(value.switches, [](const Way& one, std::string& word) { one.number(word); });
    way["at_most_off"].number(value.at_most_off);
    way["combinations"].number(value.combinations);
    way["worst"].number(value.worst);
    way["parts"].number(value.parts);
}

template <typename Way>
void whole_part(const Way& way, Part& value) {
    way["ebbwright"].number(value.question.version);
    const Way part = way["survey_part"];
    part["part"].number(value.number);
    part["layout_file"].number(value.layout_file);
    question(part["question"], value.question);
    part["first"].number(value.first);
    part["last"].number(value.last);
    part["end"].number(value.end);
    std::vector<PartRows> rows;
    if (value.rows) rows.push_back(*value.rows);
    part["rows"].list(rows, [](const Way& one, PartRows& entry) {
        one["file"].number(entry.file);
        one["bytes"].number(entry.bytes);
        one["checksum"].number(entry.checksum);
    });
    if (!rows.empty()) value.rows = rows.front();
    statistics(part["statistics"], value.statistics);
}

}  // namespace

void Checksum::fold(std::uint64_t word) {
    constexpr std::uint64_t kPrime = 0x100000001b3U;
    sum_ = (sum_ ^ word) * kPrime;
    sum_ ^= sum_ >> 32U;
}

void Checksum::add(std::string_view bytes) {
    constexpr std::size_t kWord = sizeof(std::uint64_t);
    std::size_t i = 0;
    const auto one = [&] {
        waiting_ |= std::uint64_t{static_cast<unsigned char>(bytes[i++])} << (8U * (bytes_++ % kWord));
        if (bytes_ % kWord == 0) fold(std::exchange(waiting_, 0));
    };
    while (i < bytes.size() && bytes_ % kWord != 0) one();
    for (; i + kWord <= bytes.size(); i += kWord, bytes_ += kWord) {
        std::uint64_t word = 0;
        for (std::size_t b = 0; b < kWord; ++b) word |= std::uint64_t{static_cast<unsigned char>(bytes[i + b])} << (8U * b);
        fold(word);
    }
    while (i < bytes.size()) one();
}

std::string Checksum::text() const {
    Checksum ended = *this;
    ended.fold(waiting_);
    ended.fold(bytes_);
    return fmt::format("{:016x}", ended.sum_);
}

PartRange range_of_part(std::uint64_t number, std::uint64_t parts, std::uint64_t combinations) {
    const std::uint64_t blocks = (combinations + survey::Survey::kBlock - 1) / survey::Survey::kBlock;
    const std::uint64_t unit = blocks >= parts ? survey::Survey::kBlock : 1, units = blocks >= parts ? blocks : combinations;
    const auto begin = [&](std::uint64_t before) {  // the first units % parts parts have one unit more
        return std::min(combinations, (units / parts * before + std::min(before, units % parts)) * unit);
    };
    return {begin(number - 1), begin(number)};
}

std::string checksum_of(const netfiles::ReadResult& read) {
    Checksum sum;
    for (const netfiles::SourceFile& file : read.files) {
        sum.add(file.text());
        sum.add(std::string_view("", 1));  // where one file ends is part of it
    }
    return sum.text();
}

namespace {

/// What stands in a file of bytes that are no text becomes a mark: names of files may hold such.
std::string dumped(const json& document) { return document.dump(-1, ' ', false, json::error_handler_t::replace); }

json document_of(const Part& part) {
    json document;
    Part copy = part;  // both ways through one function: it takes what it could change
    whole_part(Writing(document), copy);
    return document;
}

/// Of all that a part says, however a file lays it out: of the text it is written in here.
std::string checksum_of_part(const json& document) {
    Checksum sum;
    sum.add(dumped(document));
    return sum.text();
}

/// "part 3 of 8", where the file still says so.
std::string which_part(const json& document) {
    const json whole = document.flatten();
    const json number = whole.value("/survey_part/part", json()), parts = whole.value("/survey_part/question/parts", json());
    const bool said = number.is_number_unsigned() && parts.is_number_unsigned();
    return said ? fmt::format("part {} of {}", number.get<std::uint64_t>(), parts.get<std::uint64_t>()) : std::string("that part");
}

/// The text of a file that is a file, or of a pipe that ends. Nothing: told.
std::optional<std::string> text_of(const std::string& file) {
    constexpr std::size_t kMost = std::size_t{1} << 30U, kAtOnce = std::size_t{1} << 20U;
    std::error_code error;
    const std::filesystem::file_status status = std::filesystem::status(file, error);
    if (std::filesystem::is_directory(status)) {
        tell(fmt::format("'{}' is a folder; name the files of the parts in it, as in {}", file,
                         (std::filesystem::path(file) / "part-*.json").string()));
        return std::nullopt;
    }
    if (std::filesystem::exists(status) && !std::filesystem::is_regular_file(status) && !std::filesystem::is_fifo(status)) {
        tell(fmt::format("'{}' is a device and no file: a part is a file, or a pipe that ends", file));
        return std::nullopt;
    }
    std::ifstream stream(file, std::ios::binary);
    if (!stream) {
        tell(fmt::format("cannot read '{}'", file));
        return std::nullopt;
    }
    std::string text, buffer(kAtOnce, '\0');
    while (stream.read(buffer.data(), static_cast<std::streamsize>(buffer.size())), stream.gcount() > 0) {
        text.append(buffer, 0, static_cast<std::size_t>(stream.gcount()));
        if (text.size() > kMost) {
            tell(fmt::format("'{}' is no part of a survey: it is longer than any can be (1 GiB)", file));
            return std::nullopt;
        }
    }
    return text;
}

}  // namespace

void write_part(const Part& part, Output& output) {
    json document = document_of(part);
    document["survey_part"]["checksum"] = checksum_of_part(document);
    output.write(dumped(document) + '\n');
}

std::optional<Part> read_part_file(const std::string& file) {
    const std::optional<std::string> text = text_of(file);
    if (!text) return std::nullopt;
    const json document = json::parse(*text, nullptr, false);
    if (document.is_discarded()) {
        tell(fmt::format("'{}' is no part of a survey, or is cut short: it does not read as JSON", file));
        return std::nullopt;
    }
    if (!document.is_object() || !document.contains("survey_part") || !document["survey_part"].is_object()) {
        tell(fmt::format("'{}' is no part of a survey: make parts with --part K/N --output FILE", file));
        return std::nullopt;
    }
    if (const json version = document.value("ebbwright", json()); version.is_string() && version != kVersion) {
        tell(fmt::format("'{}' was made by version {}, this is {}: make all parts with one version", file, version.get<std::string>(), kVersion));
        return std::nullopt;
    }
    try {
        Part part;
        whole_part(Reading(document), part);
        part.file = file;
        if (document["survey_part"].at("checksum") == checksum_of_part(document_of(part))) return part;
    } catch (
        const std::exception&) {  // NOLINT(bugprone-empty-catch): of the library, for a key that is not there or a value of another kind; told below
    }
    tell(fmt::format("'{}' is not as it was written: something in it was changed. Run {} again", file, which_part(document)));
    return std::nullopt;
}

}  // namespace ebb::cli
