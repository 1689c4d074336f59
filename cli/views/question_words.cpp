#include "cli/views/question_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <map>

#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr std::size_t kNamed = 6;

}  // namespace

std::string vessel_id(const layout::Layout& layout, std::int32_t vessel) {
    return vessel < 0 ? "outside" : layout.vessels[static_cast<std::size_t>(vessel)].id;
}

std::string vessels_in_words(const layout::Layout& layout, const std::vector<std::int32_t>& vessels) {
    std::vector<std::int32_t> sorted = vessels;
    std::sort(sorted.begin(), sorted.end());
    std::vector<std::string> ids;
    for (const std::int32_t vessel : sorted) {
        ids.push_back(vessel_id(layout, vessel));
    }
    return in_few_words(ids, kNamed);
}

std::string volumes_in_words(const Subject& subject, const std::vector<std::pair<std::int32_t, double>>& volumes) {
    struct Group {
        std::vector<std::int32_t> vessels;
        double volume_m3 = 0.0;
    };
    std::map<int, Group> groups;  // by kind of vessel; -1: from outside
    for (const auto& [vessel, volume] : volumes) {
        Group& group = groups[vessel < 0 ? -1 : static_cast<int>(subject.layout.vessels[static_cast<std::size_t>(vessel)].kind)];
        group.vessels.push_back(vessel);
        group.volume_m3 += volume;
    }
    std::vector<const Group*> sorted;
    for (const auto& [kind, group] : groups) {
        sorted.push_back(&group);
    }
    std::stable_sort(sorted.begin(), sorted.end(), [](const Group* one, const Group* other) { return one->volume_m3 > other->volume_m3; });
    std::string text;
    for (const Group* group : sorted) {
        const char* joint = text.empty() ? "" : group == sorted.back() ? " and " : ", ";
        text += fmt::format("{}{} from {}", joint, subject.speech.volume(group->volume_m3), vessels_in_words(subject.layout, group->vessels));
    }
    return text;
}

std::string capital(std::string sentence) {
    if (!sentence.empty()) {
        sentence.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(sentence.front())));
    }
    return sentence;
}

void say(std::string& text, const Paint& paint, Ink ink, const std::string& sentence) {
    if (!sentence.empty()) {
        text += paint(ink, wrapped(ink == Ink::trouble ? "! " : ink == Ink::doubt ? "? " : "  ", sentence));
    }
}

std::string ended_badly(const time::Course& course) {
    switch (course.ending) {
        case time::Ending::chatters:
        case time::Ending::no_solution: return course.why;
        case time::Ending::cancelled: return "it was interrupted";
        case time::Ending::not_run:
        case time::Ending::time_over:
        case time::Ending::repeats:
        case time::Ending::still: break;
    }
    return {};
}

ExitStatus status_of_course(const time::Course& course) {
    switch (course.ending) {
        case time::Ending::chatters:
        case time::Ending::no_solution: return ExitStatus::no_solution;
        case time::Ending::cancelled: return ExitStatus::interrupted;
        case time::Ending::not_run:
        case time::Ending::time_over:
        case time::Ending::repeats:
        case time::Ending::still: break;
    }
    return ExitStatus::fine;
}

void write_ids(JsonWriter& json, std::string_view key, const layout::Layout& layout, const std::vector<std::int32_t>& vessels) {
    json.key(key);
    json.begin_array();
    for (const std::int32_t vessel : vessels) {
        json.value(vessel_id(layout, vessel));
    }
    json.end_array();
}

}  // namespace ebb::cli
