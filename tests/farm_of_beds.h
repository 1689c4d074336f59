#pragma once
// A farm of any number of beds, written as a layout: for tests and benchmarks of what is asked of large farms.
//
//      sump P -> pump -> filter -> J0, a ring main J0 - J1 - ... - Jn - J0
//      every tee of the ring feeds one vessel over its water: beds (valves VB1, VB2, ...), fish tanks (VT1, ...), troughs (VR1, ...)
//      every vessel leaves by a standpipe and a drain into a collector of its row (vented tees), ten vessels to a row, and home to the sump
//
// Twenty beds make 115 pipes and drains. Everything is invented. The sizes grow with the farm so that it settles without spilling whatever
// combination of the bed valves is open (tried with up to 100 beds): with all of them shut the pump runs against tanks and troughs, with all of them
// open the sump gives their water and keeps its pump covered. Every number is a whole one, so that no locale can spoil the text.

#include <algorithm>
#include <string>

namespace ebb::tests {

/// What stands on the farm. At least one tank, so that the pump always has a way.
struct FarmOfBeds {
    int beds = 20, tanks = 6, troughs = 2;
};

/// Writes the layout of one farm, row by row.
class FarmWriter {
public:
    explicit FarmWriter(const FarmOfBeds& farm) : farm_(farm) {}

    std::string layout() {
        text_ = "<layout name=\"a farm of " + number(farm_.beds) + " beds\" units=\"si\">\n";
        text_ += "  <site altitude=\"80 m\" water-temperature=\"23 degC\"/>\n";
        source();
        for (int i = 1; i <= farm_.beds; ++i) bed(i);
        for (int i = 1; i <= farm_.tanks; ++i) tank(i);
        for (int i = 1; i <= farm_.troughs; ++i) trough(i);
        pipe("ring-close", "J" + number(tees_), "J0", 1500, ring_size());
        arrangement();
        return text_ + "</layout>\n";
    }

private:
    static std::string number(int value) { return std::to_string(value); }
    static std::string attribute(const std::string& name, const std::string& value) { return " " + name + "=\"" + value + "\""; }
    static std::string mm(const std::string& name, int value) { return attribute(name, number(value) + " mm"); }
    /// Hundreds of litres a minute the whole farm is meant to carry, rounded up.
    int hundreds() const { return (farm_.beds * 12 + farm_.tanks * 30 + farm_.troughs * 17 + 99) / 100; }
    std::string ring_size() const { return hundreds() <= 6 ? "90 mm" : hundreds() <= 12 ? "110 mm" : "160 mm"; }
    std::string main_size() const { return hundreds() <= 6 ? "110 mm" : "160 mm"; }

    void pipe(const std::string& id, const std::string& from, const std::string& to, int length_mm, const std::string& size,
              const std::string& within = "", const std::string& kind = "pipe", int to_height_mm = -1) {
        text_ += "  <" + kind + attribute("id", id) + attribute("from", from) + attribute("to", to);
        if (to_height_mm >= 0) text_ += mm("to-height", to_height_mm);
        text_ += mm("length", length_mm) + attribute("size", size) +
                 attribute("series", size == "20 mm" || size == "25 mm" || size == "32 mm" ? "pvc-pn16" : "pvc-pn10");
        text_ += within.empty() ? "/>\n" : ">" + within + "</" + kind + ">\n";
    }

    void source() {
        text_ += "  <sump id=\"P\" floor=\"-900 mm\" rim=\"300 mm\" width=\"1600 mm\"" + mm("length", 1200 + 130 * farm_.beds + 60 * farm_.tanks) +
                 mm("start-depth", 750) + mm("least-depth", 150) + "/>\n";
        // a hundred litres a minute are 6 m3/h; the curve is stretched to the farm
        const int flows_l_min[] = {0, 40, 80, 100, 120, 150}, heads_mm[] = {6000, 5700, 4800, 4000, 3000, 1000},
                  powers_w[] = {95, 125, 150, 160, 168, 175};
        text_ += "  <pump-model name=\"wide\">";
        for (int i = 0; i < 6; ++i)
            text_ += "<point" + attribute("flow", number(flows_l_min[i] * hundreds()) + " l/min") + mm("head", heads_mm[i]) +
                     attribute("power", number(powers_w[i] * hundreds()) + " W") + mm("npsh", 800 + 300 * i) + "/>";
        text_ += "</pump-model>\n";
        text_ += "  <pump id=\"PUMP\" in=\"P\" intake-height=\"60 mm\" model=\"wide\" check-valve=\"yes\"/>\n";
        text_ += "  <filter id=\"F1\"><loss state=\"clean\"" + attribute("flow", number(100 * hundreds()) + " l/min") + mm("head", 550) +
                 "/><loss state=\"dirty\"" + attribute("flow", number(100 * hundreds()) + " l/min") + mm("head", 2200) + "/></filter>\n";
        text_ += "  <tee id=\"J0\" elevation=\"400 mm\"/>\n";
        pipe("rise", "PUMP", "F1", 2500, main_size(), "<fitting kind=\"elbow-90\" count=\"2\"/>");
        pipe("filtered", "F1", "J0", 1500, main_size(), "<fitting kind=\"elbow-90\"/>");
    }

    /// The next tee of the ring and the pipe to a vessel with its valve.
    void feed(const std::string& vessel, const std::string& valve, const std::string& valve_kind, int to_height_mm, const std::string& size) {
        const std::string tee = "J" + number(++tees_);
        text_ += "  <tee" + attribute("id", tee) + " elevation=\"400 mm\"/>\n";
        pipe("ring-" + number(tees_), "J" + number(tees_ - 1), tee, 1200 + 100 * (tees_ % 4), ring_size());
        pipe("feed-" + vessel, tee, vessel, 1800 + 200 * (tees_ % 5), size,
             "<fitting kind=\"tee-branch\"/><fitting kind=\"elbow-90\" count=\"2\"/><valve" + attribute("id", valve) + attribute("kind", valve_kind) +
                 "/>",
             "pipe", to_height_mm);
    }

    /// The standpipe, its drain, and the vented tee of the collector it falls into; place 1 of a row leads home.
    void home(const std::string& vessel, const std::string& row_name, int index, const std::string& bore, int lip_mm, const std::string& hole,
              const std::string& drain_size, const std::string& collector_size) {
        text_ += "  <standpipe" + attribute("id", "O" + vessel) + attribute("in", vessel) + attribute("bore", bore) + "><insert name=\"only\"" +
                 mm("lip", lip_mm) + "/>" + hole + "</standpipe>\n";
        const int row = (index - 1) / 10 + 1, place = (index - 1) % 10 + 1;
        const auto collector = [&](int at) { return "D" + row_name + number(row) + "-" + number(at); };
        text_ += "  <tee" + attribute("id", collector(place)) + mm("elevation", 300 + 25 * place) + " vented=\"yes\"/>\n";
        pipe("drain-" + vessel, "O" + vessel, collector(place), 1000 + 100 * (index % 4), drain_size, "", "drain");
        if (place == 1)
            pipe("home-" + row_name + number(row), collector(1), "P", 3000, "110 mm", "", "drain", 1150);
        else
            pipe("collector-" + vessel, collector(place), collector(place - 1), 1200, collector_size, "", "drain");
    }

    void bed(int index) {
        const std::string id = "B" + number(index);
        text_ += "  <bed" + attribute("id", id) +
                 " floor=\"800 mm\" rim=\"1150 mm\" length=\"1200 mm\" width=\"800 mm\" void-fraction=\"0.42\" media-depth=\"300 mm\" inflow=\"10 "
                 "l/min\"/>\n";
        feed(id, "VB" + number(index), "gate", 330, "20 mm");
        home(id, "B", index, "57 mm", 200, "<drain-hole height=\"0 mm\" diameter=\"8 mm\"/>", "50 mm", "90 mm");
    }

    void tank(int index) {
        const std::string id = "T" + number(index);
        text_ +=
            "  <tank" + attribute("id", id) + " floor=\"600 mm\" rim=\"1700 mm\" diameter=\"1500 mm\" start-depth=\"960 mm\" turnover=\"75 min\"/>\n";
        feed(id, "VT" + number(index), "ball", 1040, "32 mm");
        home(id, "T", index, "68 mm", 960, "", "75 mm", "110 mm");
    }

    void trough(int index) {
        const std::string id = "R" + number(index);
        text_ +=
            "  <trough" + attribute("id", id) + " floor=\"600 mm\" rim=\"1000 mm\" length=\"6000 mm\" width=\"1200 mm\" start-depth=\"300 mm\"/>\n";
        feed(id, "VR" + number(index), "gate", 360, "25 mm");
        home(id, "R", index, "57 mm", 300, "", "63 mm", "75 mm");
    }

    void arrangement() {
        text_ += "  <arrangement name=\"all beds\">";
        const auto throttle = [&](const std::string& valve, int index, int least_percent) {
            text_ += "<throttle" + attribute("valve", valve + number(index)) + attribute("to", number(least_percent + index % 3) + " %") + "/>";
        };
        for (int i = 1; i <= farm_.beds; ++i) throttle("VB", i, 20);
        for (int i = 1; i <= farm_.tanks; ++i) throttle("VT", i, 50);
        for (int i = 1; i <= farm_.troughs; ++i) throttle("VR", i, 18);
        text_ += "</arrangement>\n";
    }

    FarmOfBeds farm_;
    std::string text_;
    int tees_ = 0;
};

inline std::string farm_of_beds(const FarmOfBeds& farm) { return FarmWriter(farm).layout(); }

/// Tanks and troughs in proportion to the beds.
inline std::string farm_of_beds(int beds) {
    return farm_of_beds({.beds = beds, .tanks = std::max(2, (beds * 3 + 9) / 10), .troughs = std::max(1, beds / 10)});
}

}  // namespace ebb::tests
