#include "netfiles/reader.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <tuple>
#include <unordered_map>
#include <utility>

#include "netfiles/document.h"
#include "netfiles/reading.h"
#include "netfiles/words.h"
#include "solver/layout/validate.h"
#include "solver/physics/water.h"

namespace ebb::netfiles {
namespace {

using ReadFunction = void (*)(Reading&, const Element&);

const std::unordered_map<std::string_view, ReadFunction>& readers() {
    static const std::unordered_map<std::string_view, ReadFunction> map = {
        {"tank", read_vessel},
        {"sump", read_vessel},
        {"trough", read_vessel},
        {"bed", read_vessel},
        {"tier", read_vessel},
        {"vessel", read_vessel},
        {"pond", read_pond},
        {"pump", read_pump},
        {"filter", read_filter},
        {"tee", read_tee},
        {"nozzle", read_nozzle},
        {"supply", read_supply},
        {"float-valve", read_float_valve},
        {"standpipe", read_standpipe},
        {"siphon", read_siphon},
        {"pipe", read_pipe},
        {"drain", read_pipe},
        {"arrangement", read_arrangement},
        {"routine", read_routine},
        {"pump-model", read_pump_model},
        {"pipe-series", read_pipe_series},
        {"fitting-kind", read_fitting_kind},
        {"prices", read_prices},
        {"economy", read_economy},
        {"limits", read_limits},
        {"plus-minus", read_plus_minus},
    };
    return map;
}

const AssumedValue kWaterTemperature = {
    "water temperature", "", {20.0, 10.0, 30.0}, "degC", "not said in <site>; fish farms run at 10 to 30 degC: common practice"};

/// The first element, before all others: its density turns pressures into head.
void read_site(Reading& reading, const Documents& documents) {
    bool seen = false;
    bool temperature_said = false;
    layout::Place first;
    for (const TopNode& top : documents.nodes) {
        if (std::string_view(top.node.name()) != "site") {
            continue;
        }
        const Element site(reading.context, top.node, top.file, *find_element("site"));
        (void)site.children();
        if (seen) {
            reading.context.report.add({"site-twice", "", "there are two <site> elements", "keep one of them", ""}, site.place(), first);
            continue;
        }
        seen = true;
        first = site.place();
        reading.layout.altitude_m = site.number("altitude", 0.0);
        reading.layout.water_temperature_c = site.number("water-temperature", kWaterTemperature.range.value);
        temperature_said = site.has("water-temperature");
    }
    if (!temperature_said) {
        reading.assumptions.note(kWaterTemperature, "the farm");
    }
    reading.context.density_kg_m3 = physics::water_density_kg_m3(reading.layout.water_temperature_c);
}

void read_root(Reading& reading, const Documents& documents) {
    const bool catalogue = std::string_view(documents.root.name()) == "catalogue";
    const Element root(reading.context, documents.root, 0, *find_element(catalogue ? "catalogue" : "layout"));
    reading.layout.name = root.text("name");
    if (reading.layout.name.empty()) {
        reading.layout.name = std::filesystem::path(documents.files[0].path()).stem().string();
    }
    reading.layout.units = root.is("units", "us") ? layout::UnitSystem::us : layout::UnitSystem::si;
    reading.layout.friction = root.is("friction", "hazen-williams") ? layout::FrictionLaw::hazen_williams : layout::FrictionLaw::darcy_weisbach;
    physics::HazenConstants& hazen = reading.layout.hazen;
    hazen = {root.number("hazen-factor", hazen.factor), root.number("hazen-flow-power", hazen.flow_power),
             root.number("hazen-bore-power", hazen.bore_power)};
    for (const std::string_view constant : {"hazen-factor", "hazen-flow-power", "hazen-bore-power"}) {
        if (root.has(constant) && reading.layout.friction != layout::FrictionLaw::hazen_williams) {
            root.complain("hazen-without-law", std::string(constant) + "= is said, but the friction is not that of Hazen and Williams",
                          "write friction=\"hazen-williams\" too, or leave it out", constant);
            return;
        }
    }
}

/// Room for what there will be many of: growing bit by bit would copy it all several times over.
void make_room(layout::Layout& layout, const Documents& documents) {
    std::unordered_map<std::string_view, std::size_t> count;
    std::size_t in_a_row = 0;
    std::string_view name;
    for (const TopNode& top : documents.nodes) {
        if (const std::string_view next = top.node.name(); next != name) {
            count[name] += in_a_row;
            name = next;
            in_a_row = 0;
        }
        ++in_a_row;
    }
    count[name] += in_a_row;
    layout.pipes.reserve(count["pipe"] + count["drain"]);
    layout.tees.reserve(count["tee"]);
    layout.vessels.reserve(count["tank"] + count["sump"] + count["trough"] + count["bed"] + count["tier"] + count["vessel"]);
    layout.standpipes.reserve(count["standpipe"]);
    layout.pumps.reserve(count["pump"]);
}

void read_nodes(Reading& reading, const Documents& documents) {
    const ElementRule& root = *find_element("layout");
    make_room(reading.layout, documents);
    for (const TopNode& top : documents.nodes) {
        if (reading.context.report.full()) {
            return;
        }
        const std::string_view name = top.node.name();
        if (name == "site") {
            continue;
        }
        if (top.node.type() != pugi::node_element) {
            reading.context.report.add({"stray-text", "", "text stands inside the root: \"" + printable(top.node.value()) + "\"",
                                        "everything is said in attributes; take it out, or make it a comment <!-- ... -->", ""},
                                       place_of(documents, top.node, top.file));
            continue;
        }
        const auto found = readers().find(name);
        if (found == readers().end()) {
            report_strange_element(reading.context, top.node, top.file, root);
            reading.unsound_things.insert(top.node.attribute("id").value());
            continue;
        }
        const Element element(reading.context, top.node, top.file, *find_element(name));
        found->second(reading, element);
        reading.note_unsound(element);
    }
}

/// Codes of validate() that only say something is not there; it may well be there once the other errors are mended.
bool says_absence(std::string_view code) {
    constexpr std::array<std::string_view, 13> kCodes = {
        "missing",      "nothing-there",     "filter-no-clean",  "volume-table",   "pump-no-outlet",    "pump-no-inlet", "filter-pipes",
        "nozzle-pipes", "float-valve-pipes", "standpipe-drains", "siphon-outlets", "vented-tee-drains", "tee-header"};
    return std::ranges::find(kCodes, code) != kCodes.end();
}

/// An error that follows from another one: of an element already complained of, about one, or of something that may be there.
bool follows_from_others(const layout::Problem& problem, const Reading& reading) {
    const bool of_a_label = problem.code == "dangling" || problem.code == "wrong-kind";  // stands whatever else is wrong with the element
    if (says_absence(problem.code) || (!of_a_label && reading.unsound_things.contains(problem.about))) {
        return true;
    }
    return of_a_label && std::ranges::any_of(reading.unsound_things, [&](const std::string& thing) {
               return !thing.empty() && problem.says.find("\"" + thing + "\"") != std::string::npos;
           });
}

void validate_layout(Reading& reading, ReadResult& result) {
    const bool clean = reading.context.report.problems.empty();
    std::vector<layout::Problem> found = layout::validate(reading.layout);
    for (layout::Problem& problem : found) {
        if (!clean && follows_from_others(problem, reading)) {
            continue;
        }
        problem.place = refine_place(reading.context.documents.files, problem.place, problem.attribute);
        result.problems.push_back(std::move(problem));
    }
}

void sort_by_place(std::vector<layout::Problem>& problems) {
    std::ranges::stable_sort(problems, [](const layout::Problem& one, const layout::Problem& other) {
        return std::tie(one.place.file, one.place.line, one.place.column) < std::tie(other.place.file, other.place.line, other.place.column);
    });
}

enum class Purpose : std::uint8_t { layout, catalogue };

ReadResult read_documents(Documents documents, Report& report, Purpose purpose) {
    ReadResult result;
    if (documents.root) {
        Reading reading(documents, report);
        read_site(reading, documents);
        read_root(reading, documents);
        read_nodes(reading, documents);
        resolve_prices(reading);
        if (purpose == Purpose::layout && !report.full()) {
            resolve_pipes(reading);
            validate_layout(reading, result);
            note_general_assumptions(reading);
            reading.layout.assumptions = reading.assumptions.entries();
        }
        result.layout = std::move(reading.layout);
        result.catalogue = std::move(reading.catalogue);
    }
    result.problems.insert(result.problems.begin(), std::make_move_iterator(report.problems.begin()), std::make_move_iterator(report.problems.end()));
    sort_by_place(result.problems);
    result.files = std::move(documents.files);
    return result;
}

}  // namespace

void note_general_assumptions(Reading& reading) {
    const auto open_water = [](const layout::End& end) { return end.ref.kind == layout::Kind::vessel || end.ref.kind == layout::Kind::pond; };
    const PortLoss& entrance = port_losses()[0];
    const PortLoss& exit = port_losses()[1];
    const AssumedValue entry_loss{"entry loss", "", entrance.loss, "", entrance.source};
    const AssumedValue exit_loss{"exit loss", "", exit.loss, "", exit.source};
    for (const layout::Pipe& pipe : reading.layout.pipes) {
        if (!layout::said(pipe.entry_loss) && open_water(pipe.from)) {
            reading.assumptions.note(entry_loss, pipe.id);
        }
        if (!layout::said(pipe.exit_loss) && !pipe.gravity && open_water(pipe.to)) {
            reading.assumptions.note(exit_loss, pipe.id);
        }
    }
}

ReadResult read_layout(const std::filesystem::path& path) {
    Report report;
    return read_documents(load_documents(path, WantedRoot::layout, report), report, Purpose::layout);
}

ReadResult read_layout_text(std::string text, const std::string& name) {
    Report report;
    return read_documents(load_text(std::move(text), name, WantedRoot::layout, report), report, Purpose::layout);
}

ReadResult read_layout_as(const std::filesystem::path& path, std::string text) {
    Report report;
    return read_documents(load_as(path, std::move(text), WantedRoot::layout, report), report, Purpose::layout);
}

ReadResult read_catalogue(const std::filesystem::path& path) {
    Report report;
    return read_documents(load_documents(path, WantedRoot::catalogue_or_layout, report), report, Purpose::catalogue);
}

}  // namespace ebb::netfiles
