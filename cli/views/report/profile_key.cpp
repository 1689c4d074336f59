// The key: every sign the drawing uses and what it means, so that the drawing can hang on a wall by itself.

#include <array>

#include "cli/views/report/profile_sheet.h"
#include "cli/views/report/profile_words.h"

namespace ebb::cli::profile {
namespace {

using html::add;
using html::Node;
namespace words = profile_words;

void water(Node box) {
    add(box, "rect", {{"class", "water"}, {"x", "-15"}, {"y", "0"}, {"width", "30"}, {"height", "9"}});
    const Node surface = add(box, "g", {{"class", "surface"}});
    add(surface, "path", {{"class", "line"}, {"d", "M-15 0H15"}});
    add(surface, "path", {{"class", "level"}, {"d", "M0 -1l-5 -8h10Z"}});
}
void media(Node box) {
    add(box, "rect", {{"class", "media"}, {"x", "-15"}, {"y", "-8"}, {"width", "30"}, {"height", "16"}, {"fill", "url(#profile-media)"}});
}
void lip(Node box) {
    add(box, "rect", {{"class", "tube"}, {"x", "-3.5"}, {"y", "-6"}, {"width", "7"}, {"height", "15"}});
    add(box, "path", {{"class", "lip"}, {"d", "M-5.5 -6h11"}});
    add(box, "path", {{"class", "other-lip"}, {"d", "M3.5 2h5"}});
}
void siphon(Node box) {
    add(box, "rect", {{"class", "tube"}, {"x", "-2.5"}, {"y", "-3"}, {"width", "5"}, {"height", "12"}});
    add(box, "path", {{"class", "bell"}, {"d", "M-7.5 7V-3q0 -6 7.5 -6t7.5 6V7"}});
}
Node sign(Node box, const char* classes) { return add(add(box, "g", {{"class", classes}}), "g", {{"class", "sign"}}); }
void pump(Node box) { sign_pump(sign(box, "pump running")); }
void pump_stopped(Node box) { sign_pump(sign(box, "pump stopped")); }
void valve_open(Node box) { sign_valve(sign(box, "valve open")); }
void valve_throttled(Node box) { sign_valve(sign(box, "valve throttled")); }
void valve_shut(Node box) { sign_valve(sign(box, "valve shut")); }
void tee(Node box) { sign_tee(sign(box, "tee"), false); }
void tee_vented(Node box) { sign_tee(sign(box, "tee vented"), true); }
void filter(Node box) { sign_filter(add(sign(box, "filter"), "g", {{"transform", "scale(.7)"}})); }
void pipe(Node box) {
    const Node group = add(box, "g", {{"class", "pipe"}});
    add(group, "path", {{"class", "line middle"}, {"d", "M-16 0H16"}});
    add(group, "path", {{"class", "arrow"}, {"d", "M-4 -3.6L5 0L-4 3.6Z"}});
}
void drain(Node box) {
    const Node group = add(box, "g", {{"class", "drain"}});
    add(group, "path", {{"class", "line thick"}, {"d", "M-16 -2L16 2"}});
    add(group, "path", {{"class", "arrow"}, {"d", "M-4 -3.6L5 0L-4 3.6Z"}});
}
void still(Node box) { add(box, "path", {{"class", "line middle still"}, {"d", "M-16 0H16"}}); }
void head(Node box) { add(box, "path", {{"class", "head-line"}, {"d", "M-16 -4L16 4"}}); }

struct Sign {
    void (*draw)(Node);
    std::string_view says;
};
constexpr std::array kSigns = {
    Sign{water, words::kKeyWater},
    Sign{media, words::kKeyMedia},
    Sign{lip, words::kKeyLip},
    Sign{siphon, words::kKeySiphon},
    Sign{pump, words::kKeyPump},
    Sign{pump_stopped, words::kKeyPumpStopped},
    Sign{valve_open, words::kKeyValveOpen},
    Sign{valve_throttled, words::kKeyValveThrottled},
    Sign{valve_shut, words::kKeyValveShut},
    Sign{filter, words::kKeyFilter},
    Sign{pipe, words::kKeyPipe},
    Sign{drain, words::kKeyDrain},
    Sign{still, words::kKeyStill},
    Sign{tee, words::kKeyTee},
    Sign{tee_vented, words::kKeyVented},
    Sign{head, words::kKeyHead},
};

}  // namespace

void draw_key(Node figure) {
    const Node list = add(figure, "ul", {{"class", "profile-key"}, {"aria-label", std::string(words::kKey)}});
    for (const Sign& one : kSigns) {
        const Node item = add(list, "li");
        const Node svg = add(
            item, "svg", {{"class", "profile-drawing"}, {"viewBox", "-18 -12 36 24"}, {"width", "36"}, {"height", "24"}, {"aria-hidden", "true"}});
        one.draw(svg);
        html::text(item, " " + std::string(one.says));
    }
}

}  // namespace ebb::cli::profile
