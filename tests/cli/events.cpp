// Each event has a sentence of its own, and moments are said to the second.

#include <doctest/doctest.h>

#include <limits>
#include <set>
#include <string>

#include "cli/views/event_words.h"

namespace {

using ebb::cli::alike;
using ebb::cli::moment;
using ebb::cli::sentence_of;
using ebb::time::Event;
using ebb::time::Happening;

ebb::layout::Layout farm() {
    ebb::layout::Layout layout;
    layout.siphons.resize(1);
    layout.siphons.front().id = "SI";
    layout.siphons.front().in_id = "B2";
    return layout;
}

Event event(Happening what, const std::string& id, const std::string& because = {}) {
    Event event;
    event.t_s = 0.0;
    event.what = what;
    event.about_id = id;
    event.because = because;
    return event;
}

}  // namespace

TEST_CASE("every happening has a sentence, and no two the same") {
    const ebb::layout::Layout layout = farm();
    std::set<std::string> said;
    const int last = static_cast<int>(Happening::hose_ends);
    for (int what = 0; what <= last; ++what) {
        const std::string says = sentence_of(layout, event(static_cast<Happening>(what), "X1"));
        CAPTURE(says);
        CHECK(said.insert(says).second);
        CHECK(says.find('{') == std::string::npos);
        const bool of_the_farm = says == "the power fails" || says == "the power returns";
        CHECK((of_the_farm || says.find("X1") != std::string::npos));
    }
    CHECK(said.size() == static_cast<std::size_t>(last + 1));
}

TEST_CASE("a sentence says what did it, and names several things at once") {
    const ebb::layout::Layout layout = farm();
    const Event first = event(Happening::valve_opens, "VB1", "timer");
    const Event second = event(Happening::valve_opens, "VB2", "timer");
    CHECK(sentence_of(layout, first) == "VB1 opens: timer");
    CHECK(sentence_of(layout, {&first, &second}) == "VB1 and VB2 open: timer");
    CHECK(alike(first, second));
    CHECK_FALSE(alike(first, event(Happening::valve_opens, "VB2", "rotation")));
    CHECK_FALSE(alike(first, event(Happening::valve_closes, "VB2", "timer")));
    Event siphon = event(Happening::siphon_starts, "SI");
    siphon.about = {ebb::layout::Kind::siphon, 0};
    CHECK(sentence_of(layout, siphon) == "the siphon in B2 starts");
    CHECK(sentence_of(layout, event(Happening::power_fails, "", "power")) == "the power fails");
}

TEST_CASE("moments are counted from the start") {
    CHECK(moment(0.0) == "0:00:00");
    CHECK(moment(700.0) == "0:11:40");
    CHECK(moment(59.6) == "0:01:00");
    CHECK(moment(48.0 * 3600.0) == "48:00:00");
    CHECK(moment(50.0 * 3600.0 + 61.0) == "day 3, 02:01:01");
    CHECK(moment(std::numeric_limits<double>::quiet_NaN()) == "-");
}
