// The table itself. One line for each attribute: name, what may stand there, limits, default, what it means.

#include <array>

#include "netfiles/schema.h"

namespace ebb::netfiles {
namespace {

using D = Dimension;

constexpr Limits kSigned{};
constexpr Limits kNotNegative{.low = 0.0};
constexpr Limits kPositive{.low = 0.0, .low_open = true};
constexpr Limits kShare{.low = 0.0, .high = 1.0};
constexpr Limits kPositiveShare{.low = 0.0, .high = 1.0, .low_open = true};
constexpr Limits kSpeed{.low = 0.0, .high = 1.5, .low_open = true};
constexpr Limits kWear{.low = 0.0, .high = 1.0, .high_open = true};
constexpr Limits kWaterTemperature{.low = 0.0, .high = 100.0, .high_open = true};
constexpr Limits kAltitude{.low = -500.0, .high = 9000.0};
constexpr Limits kBore{.low = 0.0, .high = 5.0, .low_open = true};
constexpr Limits kCoefficientC{.low = 20.0, .high = 200.0};
constexpr Limits kManning{.low = 0.005, .high = 0.1};
constexpr Limits kDischarge{.low = 0.05, .high = 1.0};
constexpr Limits kLoss{.low = 0.0, .high = 1e7};
constexpr Limits kAngle{.low = 0.0, .high = 90.0, .low_open = true};
constexpr Limits kRoughness{.low = 0.0, .high = 0.05};
constexpr Limits kFactorMore{.low = 0.0, .high = 9.0};
constexpr Limits kHalf{.low = 0.0, .high = 0.5};
constexpr Limits kTenth{.low = 0.0, .high = 0.1};
constexpr Limits kWithinMetre{.low = 0.0, .high = 1.0, .low_open = true};
constexpr Limits kMetre{.low = 0.0, .high = 1.0};
constexpr Limits kVelocity{.low = 0.0, .high = 100.0, .low_open = true};
constexpr Limits kYears{.low = 0.0, .high = 200.0, .low_open = true};
constexpr Limits kSideBySide{.low = 0.0, .high = 100.0, .low_open = true};
constexpr Limits kHazenFactor{.low = 5.0, .high = 20.0};
constexpr Limits kHazenFlowPower{.low = 1.5, .high = 2.1};
constexpr Limits kHazenBorePower{.low = 4.0, .high = 6.0};

constexpr bool kNeeded = true;
constexpr bool kMay = false;

constexpr AttributeRule quantity(std::string_view name, bool required, D dimension, Limits limits, std::string_view standard, std::string_view says) {
    return {name, ValueType::quantity, required, dimension, limits, "", standard, says};
}
constexpr AttributeRule needed(std::string_view name, D dimension, Limits limits, std::string_view says) {
    return quantity(name, kNeeded, dimension, limits, "", says);
}
constexpr AttributeRule may(std::string_view name, D dimension, Limits limits, std::string_view standard, std::string_view says) {
    return quantity(name, kMay, dimension, limits, standard, says);
}
constexpr AttributeRule id(std::string_view says) { return {"id", ValueType::id, kNeeded, D::number, {}, "", "", says}; }
constexpr AttributeRule reference(std::string_view name, bool required, std::string_view says) {
    return {name, ValueType::reference, required, D::number, {}, "", "", says};
}
constexpr AttributeRule text(std::string_view name, bool required, std::string_view says, std::string_view standard = "") {
    return {name, ValueType::text, required, D::number, {}, "", standard, says};
}
constexpr AttributeRule word(std::string_view name, bool required, std::string_view words, std::string_view standard, std::string_view says) {
    return {name, ValueType::word, required, D::number, {}, words, standard, says};
}

// ---- the roots, and what holds everywhere

constexpr std::array kLayout = {
    text("name", kMay, "what the farm is called, for headings", "the name of the file"),
    word("units", kMay, "si|us", "si", "units of text output"),
    word("friction", kMay, "darcy-weisbach|hazen-williams", "darcy-weisbach", "the law of pipe friction"),
    may("hazen-factor", D::number, kHazenFactor, "10.67", "w of the Hazen-Williams law h = w L Q^n/(C^n D^m), in metres and seconds"),
    may("hazen-flow-power", D::number, kHazenFlowPower, "1.852", "n of that law"),
    may("hazen-bore-power", D::number, kHazenBorePower, "4.8704", "m of that law"),
};
constexpr std::array kLayoutChildren = {
    ChildRule{"site", 0, 1},   ChildRule{"include"},    ChildRule{"tank"},        ChildRule{"sump"},         ChildRule{"trough"},
    ChildRule{"bed"},          ChildRule{"tier"},       ChildRule{"vessel"},      ChildRule{"pond"},         ChildRule{"pump"},
    ChildRule{"filter"},       ChildRule{"tee"},        ChildRule{"nozzle"},      ChildRule{"supply"},       ChildRule{"float-valve"},
    ChildRule{"standpipe"},    ChildRule{"siphon"},     ChildRule{"pipe"},        ChildRule{"drain"},        ChildRule{"arrangement"},
    ChildRule{"routine"},      ChildRule{"pump-model"}, ChildRule{"pipe-series"}, ChildRule{"fitting-kind"}, ChildRule{"economy", 0, 1},
    ChildRule{"limits", 0, 1}, ChildRule{"prices"},     ChildRule{"plus-minus"},
};
constexpr std::array kCatalogue = {text("name", kMay, "what the catalogue is called")};
constexpr std::array kCatalogueChildren = {
    ChildRule{"include"}, ChildRule{"pump-model"}, ChildRule{"pipe-series"}, ChildRule{"fitting-kind"}, ChildRule{"prices"},
};
constexpr std::array kInclude = {text("file", kNeeded, "path of a file with a layout or catalogue, from the folder of this file")};
constexpr std::array kSite = {
    may("altitude", D::length, kAltitude, "0 m", "above the sea: sets the pressure of the air"),
    may("water-temperature", D::temperature, kWaterTemperature, "20 degC", "sets density, viscosity and vapour pressure"),
};

// ---- vessels

constexpr AttributeRule kFloor = needed("floor", D::length, kSigned, "elevation of its floor above the datum");
constexpr AttributeRule kRim = needed("rim", D::length, kSigned, "elevation of its rim above the datum: water above it is lost");
constexpr AttributeRule kDiameter = may("diameter", D::length, kPositive, "", "of a round plan");
constexpr AttributeRule kLength = may("length", D::length, kPositive, "", "of a rectangular plan, with width");
constexpr AttributeRule kWidth = may("width", D::length, kPositive, "", "of a rectangular plan, with length");
constexpr AttributeRule kStart = needed("start-depth", D::length, kNotNegative, "depth of water at the start");
constexpr AttributeRule kStartEmpty = may("start-depth", D::length, kNotNegative, "0 m", "depth of water at the start");
constexpr AttributeRule kLeast = may("least-depth", D::length, kNotNegative, "", "depth below which it should not fall");
constexpr AttributeRule kTurnover = may("turnover", D::time, kPositive, "", "target: its water changes at least once in this time");
constexpr AttributeRule kInflow = may("inflow", D::flow, kPositive, "", "target: at least this much flows in");
constexpr AttributeRule kVoids = may("void-fraction", D::share, kPositiveShare, "0.40", "share of the media that drains");
constexpr AttributeRule kMedia = may("media-depth", D::length, kPositive, "up to the rim", "depth of the media; above it is open water");
constexpr AttributeRule kFills = may("fills-within", D::time, kPositive, "", "target: time to fill to the lip");
constexpr AttributeRule kDrains = may("drains-within", D::time, kPositive, "", "target: time to drain");

constexpr AttributeRule kAlong = may("x", D::length, kSigned, "", "its place along the farm, from left to right; only drawings heed it");

constexpr std::array kStandingVessel = {
    id("its label"), kFloor, kRim, kDiameter, kLength, kWidth, kStart, kLeast, kTurnover, kInflow, kAlong,
};
constexpr std::array kBed = {
    id("its label"), kFloor, kRim, kDiameter, kLength, kWidth, kVoids, kMedia, kStartEmpty, kLeast, kTurnover, kInflow, kFills, kDrains, kAlong,
};
constexpr std::array kTier = {
    id("its label"), kFloor, kRim, kDiameter, kLength, kWidth, kStartEmpty, kLeast, kTurnover, kInflow, kFills, kDrains, kAlong,
};
constexpr std::array kVesselChildren = {ChildRule{"volume"}};
constexpr std::array kVolume = {
    needed("at", D::length, kNotNegative, "depth above the floor"),
    needed("is", D::volume, kNotNegative, "water held up to that depth"),
};
constexpr std::array kPond = {id("its label"), needed("level", D::length, kSigned, "elevation of its water, which never changes"), kAlong};

// ---- devices

constexpr std::array kPump = {
    id("its label"),
    text("model", kNeeded, "name of a pump-model"),
    reference("in", kMay, "the vessel or pond a submersible pump stands in; left out for a pump fed by a pipe"),
    may("intake-height", D::length, kNotNegative, "0 m", "of a submersible pump: its intake above the floor (above the level, in a pond)"),
    may("elevation", D::length, kSigned, "", "of a pump fed by a pipe"),
    may("count", D::count, kPositive, "1", "equal pumps side by side"),
    may("wear", D::share, kWear, "0 %", "share of the head lost"),
    word("check-valve", kMay, "yes|no", "no", "bars backward flow"),
    may("x", D::length, kSigned, "", "of a pump fed by a pipe: its place along the farm, from left to right; only drawings heed it"),
};
constexpr std::array kPumpChildren = {ChildRule{"stopped", 0, 1}};
constexpr std::array kStopped = {
    needed("flow", D::flow, kPositive, "a flow through the pump at rest"),
    needed("head", D::head, kPositive, "what that flow loses"),
};
constexpr std::array kFilter = {id("its label"), kAlong};
constexpr std::array kFilterChildren = {ChildRule{"loss", 1, kAny}};
constexpr std::array kFilterLoss = {
    word("state", kNeeded, "clean|dirty", "", "of the filter"),
    needed("flow", D::flow, kPositive, "a flow through it"),
    needed("head", D::head, kNotNegative, "what that flow loses"),
};
constexpr std::array kTee = {
    id("its label"),
    needed("elevation", D::length, kSigned, "above the datum"),
    word("vented", kMay, "yes|no", "no", "air can enter; exactly one drain leads out"),
    may("takes", D::flow, kNotNegative, "nothing", "leaves the farm here all the time, whatever the pressure; not at a vented tee"),
    may("least-pressure", D::head, kNotNegative, "", "target: at least this much, above the tee; not at a vented tee"),
    word("loss", kMay, "none|header", "none", "the loss of a tee on a header, by the published relations"),
    reference("branch", kMay, "with loss=\"header\": the pipe that stands off the header"),
    may("branch-angle", D::number, kAngle, "90", "with loss=\"header\": degrees between branch and header"),
    kAlong,
};
constexpr AttributeRule kDischargeCoefficient = may("discharge-coefficient", D::number, kDischarge, "0.61", "of each hole");
constexpr std::array kNozzle = {
    id("its label"),
    reference("into", kNeeded, "the vessel or pond it waters"),
    may("height", D::length, kNotNegative, "0 m", "of its outlet above the floor"),
    may("holes", D::count, kPositive, "", "number of round holes, with hole-diameter"),
    may("hole-diameter", D::length, kPositive, "", "of each hole"),
    kDischargeCoefficient,
    may("rated", D::flow, kPositive, "", "instead of holes: its flow, with at"),
    may("at", D::head, kPositive, "", "the head or pressure at which it gives the rated flow"),
};
constexpr std::array kSupply = {
    id("its label"),
    needed("pressure", D::head, kPositive, "of the water, above the air"),
    needed("elevation", D::length, kSigned, "where that pressure holds"),
    kAlong,
};
constexpr std::array kFloatValve = {
    id("its label"),
    reference("into", kNeeded, "the vessel it fills"),
    needed("opens-at", D::length, kNotNegative, "depth at which it is fully open"),
    needed("closes-at", D::length, kPositive, "depth at which it is shut"),
    needed("rated", D::flow, kPositive, "its flow fully open"),
    needed("at", D::head, kPositive, "the head or pressure at which it gives the rated flow"),
    may("height", D::length, kNotNegative, "the rim", "of its outlet above the floor"),
};
constexpr std::array kStandpipe = {
    id("its label"),
    reference("in", kNeeded, "the vessel it stands in"),
    needed("bore", D::length, kBore, "inside diameter"),
};
constexpr std::array kStandpipeChildren = {ChildRule{"insert", 1, kAny}, ChildRule{"drain-hole"}};
constexpr std::array kInsert = {
    text("name", kNeeded, "what it is called in arrangements"),
    needed("lip", D::length, kPositive, "height of its lip above the floor"),
};
constexpr std::array kDrainHole = {
    may("height", D::length, kNotNegative, "0 m", "above the floor"),
    needed("diameter", D::length, kPositive, "of each hole"),
    may("count", D::count, kPositive, "1", "number of holes"),
    kDischargeCoefficient,
};
constexpr std::array kSiphon = {
    id("its label"),
    reference("in", kNeeded, "the vessel it stands in"),
    needed("bore", D::length, kBore, "inside diameter"),
    needed("crest", D::length, kPositive, "height of its crest above the floor"),
    needed("breaks-at", D::length, kNotNegative, "depth at which air gets in and stops it"),
    may("starts-with", D::flow, kPositive, "0.5 A sqrt(g D)", "flow over the crest that starts it"),
    may("loss", D::number, kLoss, "2.0", "velocity heads besides its entrance"),
};

// ---- pipes

constexpr AttributeRule kFrom = reference("from", kNeeded, "where it begins");
constexpr AttributeRule kTo = reference("to", kNeeded, "where it ends");
constexpr AttributeRule kFromHeight = may("from-height", D::length, kNotNegative, "0 m", "at a vessel: the port (its lowest point) above the floor");
constexpr AttributeRule kToHeight = may("to-height", D::length, kNotNegative, "0 m", "the same at the other end; may stand above the rim");
constexpr AttributeRule kRun = needed("length", D::length, kPositive, "along the pipe");
constexpr AttributeRule kSize = text("size", kMay, "a size of the series, such as 32 mm or 1-1/2 in", "with choose: the largest that is sold");
constexpr AttributeRule kSeries = text("series", kMay, "name of a pipe series");
constexpr AttributeRule kPipeBore = may("bore", D::length, kBore, "", "inside diameter, instead of size and series");
constexpr AttributeRule kPipeRoughness =
    may("roughness", D::length, kRoughness, "of the series, else 0.0015 mm", "of the wall, for the Darcy-Weisbach law");
constexpr AttributeRule kPipeC = may("hazen-williams", D::number, kCoefficientC, "of the series, else 150", "the coefficient C of that law");
constexpr AttributeRule kEntry = may("entry-loss", D::number, kLoss, "0.5 at vessels and ponds, else 0", "velocity heads at its beginning");
constexpr AttributeRule kExit = may("exit-loss", D::number, kLoss, "1 at vessels and ponds, else 0", "velocity heads at its end");
constexpr AttributeRule kTrappedAir =
    may("trapped-air", D::length, kNotNegative, "0 m", "head lost to air in a falling leg: less head moves no water, and none flows back");
constexpr AttributeRule kAirHole =
    may("air-hole", D::length, kNotNegative, "", "at a to-vessel: height above its floor of a hole that ends backward flow");
constexpr AttributeRule kChoose =
    text("choose", kMay,
         "\"yes\", or the name of a group of pipes of one size: the size is to be chosen by `pipes`, from the priced sizes of its series", "no");

constexpr std::array kPipe = {
    id("its label"), kFrom,          kFromHeight, kTo,    kToHeight, kRun,     kSize,       kSeries,
    kPipeBore,       kPipeRoughness, kPipeC,      kEntry, kExit,     kAirHole, kTrappedAir, kChoose,
};
constexpr std::array kDrain = {
    id("its label"), kFrom,
    kFromHeight,     kTo,
    kToHeight,       kRun,
    kSize,           kSeries,
    kPipeBore,       kPipeRoughness,
    kPipeC,          may("manning", D::number, kManning, "of the series, else 0.010", "the coefficient n of part-full flow"),
    kEntry,          kExit,
    kAirHole,        kTrappedAir,
    kChoose,
};
constexpr std::array kPipeChildren = {ChildRule{"fitting"}, ChildRule{"valve"}};
constexpr std::array kFitting = {
    text("kind", kMay, "a fitting kind, built in or of a catalogue"),
    may("loss", D::number, kLoss, "of the kind", "velocity heads, each"),
    may("count", D::count, kPositive, "1", "how many"),
};
constexpr std::array kValve = {
    id("its label"),
    word("kind", kNeeded, "ball|gate|butterfly|globe|angle|diaphragm|needle|plug|check|foot", "",
         "what it is; check and foot valves bar backward flow"),
    may("loss", D::number, kLoss, "of the kind", "velocity heads when fully open"),
};

// ---- arrangements

constexpr std::array kArrangement = {
    text("name", kNeeded, "what it is called"),
    text("based-on", kMay, "another arrangement, whose lines hold unless replaced"),
    word("levels", kMay, "settled|start", "settled", "levels left to settle, or held at start-depth"),
};
constexpr std::array kArrangementChildren = {
    ChildRule{"open"}, ChildRule{"close"}, ChildRule{"throttle"}, ChildRule{"run"}, ChildRule{"stop"}, ChildRule{"fit"}, ChildRule{"load"},
};
constexpr AttributeRule kValveOf = reference("valve", kNeeded, "a valve");
constexpr std::array kOpenOrClose = {kValveOf};
constexpr std::array kThrottle = {kValveOf, needed("to", D::share, kShare, "share of its travel from shut to open")};
constexpr AttributeRule kPumpOf = reference("pump", kNeeded, "a pump");
constexpr std::array kRunPump = {kPumpOf, may("speed", D::share, kSpeed, "100 %", "share of full speed")};
constexpr std::array kStopPump = {kPumpOf};
constexpr std::array kFit = {reference("standpipe", kNeeded, "a standpipe"), text("insert", kNeeded, "the insert it gets")};
constexpr std::array kLoad = {reference("filter", kNeeded, "a filter"), needed("to", D::share, kShare, "0 % is clean, 100 % dirty")};

// ---- routines

constexpr std::array kRoutine = {
    text("name", kNeeded, "what it is called"),
    text("arrangement", kMay, "the arrangement it starts from", "the first one"),
    may("lasts", D::time, kPositive, "24 h", "how long it is followed"),
    word("from", kMay, "start|settled", "start", "levels at the beginning"),
};
constexpr std::array kRoutineChildren = {
    ChildRule{"timer"}, ChildRule{"rotation"}, ChildRule{"level-switch"}, ChildRule{"power-cut"},
    ChildRule{"draw"},  ChildRule{"uptake"},   ChildRule{"change"},       ChildRule{"failure"},
};
constexpr std::array kTimer = {
    reference("opens", kMay, "the valve it opens; outside its windows the valve is shut"),
    reference("runs", kMay, "instead: the pump it runs"),
    needed("every", D::time, kPositive, "from one opening to the next"),
    needed("for", D::time, kPositive, "how long it stays open"),
    may("after", D::time, kNotNegative, "0 min", "the first opening"),
};
constexpr std::array kRotation = {
    AttributeRule{"opens", ValueType::references, kNeeded, D::number, {}, "", "", "valves, opened one after the other, the others shut"},
    needed("each", D::time, kPositive, "how long each stays open"),
};
constexpr AttributeRule threshold(std::string_view name, std::string_view says) { return may(name, D::length, kNotNegative, "", says); }
constexpr std::array kLevelSwitch = {
    reference("watches", kNeeded, "the vessel whose depth it follows"),
    reference("stops", kMay, "the pump it stops"),
    reference("starts", kMay, "or the pump it starts"),
    reference("closes", kMay, "or the valve it closes"),
    reference("opens", kMay, "or the valve it opens"),
    threshold("below", "acts when the depth falls below this"),
    threshold("above", "or when it rises above this"),
    threshold("restarts-above", "of stops= below: runs again"),
    threshold("restarts-below", "of stops= above: runs again"),
    threshold("stops-above", "of starts= below: stops again"),
    threshold("stops-below", "of starts= above: stops again"),
    threshold("reopens-above", "of closes= below: opens again"),
    threshold("reopens-below", "of closes= above: opens again"),
    threshold("closes-above", "of opens= below: closes again"),
    threshold("closes-below", "of opens= above: closes again"),
};
constexpr std::array kPowerCut = {
    needed("at", D::time, kNotNegative, "when the power fails"),
    needed("for", D::time, kPositive, "how long"),
};
constexpr std::array kDraw = {
    reference("from", kNeeded, "the vessel water is taken from"), reference("into", kMay, "the vessel it goes to; left out, it leaves the farm"),
    needed("volume", D::volume, kPositive, "how much"),           needed("at", D::time, kNotNegative, "when it begins"),
    needed("over", D::time, kPositive, "how long it takes"),      may("every", D::time, kPositive, "once", "from one beginning to the next"),
};
constexpr std::array kUptake = {
    reference("from", kNeeded, "the vessel"),
    needed("rate", D::flow, kPositive, "what evaporation and plants take"),
};

constexpr std::array kChange = {needed("at", D::time, kNotNegative, "when")};
constexpr std::array kFailure = {
    reference("of", kNeeded, "the pump that gives out"),
    needed("at", D::time, kNotNegative, "when"),
    may("for", D::time, kPositive, "for good", "how long until it is mended"),
};

// ---- catalogues

constexpr std::array kPumpModel = {
    text("name", kNeeded, "what pumps call it"),
    may("price", D::number, kNotNegative, "", "in any one currency"),
    may("greatest-flow", D::flow, kPositive, "", "of a label, instead of points: flow without head"),
    may("greatest-head", D::head, kPositive, "", "of a label: head without flow"),
    may("least-speed", D::share, kPositiveShare, "one speed only", "it can be turned down to this share of full speed"),
};
constexpr std::array kPumpModelChildren = {ChildRule{"point"}};
constexpr std::array kPoint = {
    needed("flow", D::flow, kNotNegative, "at full speed"),
    needed("head", D::head, kNotNegative, "at that flow"),
    may("power", D::power, kPositive, "", "electrical input at that flow"),
    may("efficiency", D::share, kPositiveShare, "", "instead of power: water power over electrical power"),
    may("npsh", D::head, kNotNegative, "", "net positive suction head required at that flow"),
};
constexpr std::array kPipeSeries = {
    text("name", kNeeded, "what pipes call it"),
    may("roughness", D::length, kRoughness, "0.0015 mm", "of the wall"),
    may("hazen-williams", D::number, kCoefficientC, "150", "the coefficient C"),
    may("manning", D::number, kManning, "0.010", "the coefficient n"),
};
constexpr std::array kPipeSeriesChildren = {ChildRule{"size", 1, kAny}};
constexpr std::array kPipeSize = {
    text("name", kNeeded, "what pipes call it"),
    needed("bore", D::length, kBore, "inside diameter"),
    may("wall", D::length, kPositive, "", "thickness"),
    may("price-per-metre", D::number, kNotNegative, "", "in any one currency"),
};
constexpr std::array kPrices = {text("series", kNeeded, "name of a pipe series, built in or of a file")};
constexpr std::array kPricesChildren = {ChildRule{"size", 1, kAny}};
constexpr std::array kPricedSize = {
    text("name", kNeeded, "a size of that series"),
    needed("price-per-metre", D::number, kNotNegative, "in any one currency"),
};
constexpr std::array kFittingKind = {
    text("name", kNeeded, "what fittings call it"),
    needed("loss", D::number, kLoss, "velocity heads, each"),
};

// ---- what things cost, and limits of design

constexpr std::array kEconomy = {
    text("currency", kMay, "of all prices, as it is to be printed", "money"),
    may("price-per-kwh", D::number, kNotNegative, "0.30, and said so", "of electrical energy"),
    may("years", D::number, kYears, "10, and said so", "over which running costs are counted"),
    may("interest", D::share, kShare, "0 %", "a year: makes later years count less"),
};
constexpr std::array kEconomyChildren = {ChildRule{"hours"}, ChildRule{"candidate"}};
constexpr std::array kHours = {
    text("arrangement", kNeeded, "name of an arrangement"),
    needed("a-year", D::time, kNotNegative, "how long it runs in a year of 8760 h"),
};
constexpr std::array kCandidate = {
    text("model", kNeeded, "name of a pump-model that may be bought"),
    may("most", D::count, kSideBySide, "1", "up to so many side by side"),
    reference("pump", kMay, "only in the place of this pump; left out: of any"),
};
constexpr std::array kDesignLimits = {
    may("velocity", D::velocity, kVelocity, "1.5 m/s", "greatest, in pipes that run full"),
    may("suction-velocity", D::velocity, kVelocity, "1.2 m/s", "greatest, in pipes that lead to a pump"),
    may("least-velocity", D::velocity, kVelocity, "no limit", "in pipes that run full: below it solids settle"),
    may("drain-fill", D::share, kPositiveShare, "75 %", "greatest depth of water in a drain, of its bore"),
    may("drain-velocity", D::velocity, kVelocity, "no limit", "least, in drains: below it solids stay"),
};

// ---- what is not known exactly

constexpr std::array kPlusMinus = {
    AttributeRule{"of", ValueType::references, kMay, D::number, {}, "", "all that no other line names", "pipes, vessels, ponds, pumps and filters"},
    may("roughness", D::share, kFactorMore, "100 %", "of pipe walls, a factor: 100 % is half to twice"),
    may("hazen-williams", D::share, kHalf, "5 %", "of the coefficient C, where that is the law of friction"),
    may("bore", D::share, kTenth, "1 %", "of pipes"),
    may("losses", D::share, kFactorMore, "25 %", "of fittings, valves, entrances and exits, a factor: 25 % is 1/1.25 to 1.25 times"),
    may("start-depth", D::length, kMetre, "10 mm", "of vessels that hold water at the start"),
    may("level", D::length, kMetre, "0 mm", "of ponds"),
    may("pump-head", D::share, kHalf, "5 %; 20 % of a label", "of the head a pump gives at every flow"),
    may("filter-load", D::share, kHalf, "10 %", "of how dirty filters are, from 0 % to 100 %"),
};

// ---- readings

constexpr std::array kReadings = {text("name", kMay, "what they are called: a date, who read them")};
constexpr std::array kReadingsChildren = {ChildRule{"gauge"}, ChildRule{"how-often"}, ChildRule{"when"}};
constexpr std::array kGauge = {reference("at", kNeeded, "a tee, pump or filter: its pressure may be asked for next")};
constexpr std::array kHowOften = {
    text("kind", kNeeded, "a kind of fault, such as blocked-drain"),
    needed("chance", D::share, kShare, "of it at one place before anything is read; 0 leaves the kind out"),
};
constexpr std::array kWhen = {text("arrangement", kMay, "the arrangement the farm was in, settled", "the first one")};
constexpr std::array kWhenChildren = {
    ChildRule{"level"},  ChildRule{"flow"},     ChildRule{"bucket"}, ChildRule{"pressure"}, ChildRule{"time"},
    ChildRule{"siphon"}, ChildRule{"overflow"}, ChildRule{"spill"},  ChildRule{"air"},
};
constexpr AttributeRule kPassage = reference("of", kNeeded, "a pipe, drain, nozzle, float valve, pump, filter or supply");
constexpr AttributeRule kOfVessel = reference("of", kNeeded, "a vessel");
constexpr AttributeRule kYesOrNo = word("is", kNeeded, "yes|no", "", "whether it is so");
constexpr std::array kLevelRead = {
    kOfVessel,
    may("depth", D::length, kNotNegative, "", "of the water above the floor"),
    may("below-rim", D::length, kSigned, "", "or from the rim down to the water"),
    may("plus-minus", D::length, kWithinMetre, "5 mm", "how far it may be off, in 95 of 100 cases"),
    word("moves", kMay, "falls|stays|rises", "", "watched for ten minutes"),
};
constexpr std::array kFlowRead = {
    kPassage,
    needed("is", D::flow, kSigned, "from its beginning to its end, by a meter"),
    may("plus-minus", D::share, kPositiveShare, "3 %", "how far it may be off, in 95 of 100 cases"),
};
constexpr std::array kBucketRead = {
    kPassage,
    needed("volume", D::volume, kNotNegative, "caught; 0 l where nothing came"),
    needed("seconds", D::number, kPositive, "it took"),
    may("plus-minus", D::share, kPositiveShare, "5 %", "how far the flow may be off, in 95 of 100 cases"),
};
constexpr std::array kPressureRead = {
    reference("at", kNeeded, "a tee; a pump: behind it; a filter: from its inlet to its outlet"),
    needed("is", D::head, kSigned, "above the pressure of the air, at the height of the place"),
    may("plus-minus", D::head, kPositive, "2 %, 0.2 m at least", "how far it may be off, in 95 of 100 cases"),
};
constexpr std::array kTimeRead = {
    kOfVessel,
    needed("from", D::length, kNotNegative, "depth at the beginning"),
    needed("to", D::length, kNotNegative, "depth at the end"),
    needed("takes", D::time, kPositive, "from one to the other, nothing else touched"),
    may("plus-minus", D::share, kPositiveShare, "10 %", "how far it may be off, in 95 of 100 cases"),
};
constexpr std::array kSiphonRead = {
    reference("of", kNeeded, "a siphon"),
    word("does", kNeeded, "silent|dribbles|runs|cycles", "", "nothing; water trickles over; runs on and on; starts and breaks again and again"),
};
constexpr std::array kOverflowRead = {reference("of", kNeeded, "a standpipe: whether water goes over its lip"), kYesOrNo};
constexpr std::array kSpillRead = {reference("of", kNeeded, "a vessel: whether water goes over its rim"), kYesOrNo};
constexpr std::array kAirRead = {reference("of", kNeeded, "a pump: whether it draws air"), kYesOrNo};

constexpr std::array kElements = {
    ElementRule{"layout", "the whole farm: root of a layout file", kLayout, kLayoutChildren},
    ElementRule{"catalogue", "root of a file that only holds models, series and kinds", kCatalogue, kCatalogueChildren},
    ElementRule{"include", "puts the children of another file's root here", kInclude, {}},
    ElementRule{"site", "where the farm stands", kSite, {}},
    ElementRule{"tank", "a fish tank", kStandingVessel, kVesselChildren},
    ElementRule{"sump", "the low vessel pumps draw from", kStandingVessel, kVesselChildren},
    ElementRule{"trough", "a raft trough", kStandingVessel, kVesselChildren},
    ElementRule{"bed", "a media bed", kBed, kVesselChildren},
    ElementRule{"tier", "one tray of a nursery", kTier, kVesselChildren},
    ElementRule{"vessel", "any other vessel with a free surface", kStandingVessel, kVesselChildren},
    ElementRule{"volume", "a point of a volume table, straight between points", kVolume, {}},
    ElementRule{"pond", "a level that never changes; opens the loop", kPond, {}},
    ElementRule{"pump", "a pump, submersible or fed by a pipe", kPump, kPumpChildren},
    ElementRule{"stopped", "the loss through a pump at rest; without it no water passes", kStopped, {}},
    ElementRule{"filter", "a filter, with its loss clean and dirty", kFilter, kFilterChildren},
    ElementRule{"loss", "one point of a filter's loss over flow", kFilterLoss, {}},
    ElementRule{"tee", "where pipes join", kTee, {}},
    ElementRule{"nozzle", "a spray or drip outlet, fed by one pipe", kNozzle, {}},
    ElementRule{"supply", "a pressure that gives water and never takes it", kSupply, {}},
    ElementRule{"float-valve", "tops up a vessel, fed by one pipe", kFloatValve, {}},
    ElementRule{"standpipe", "an overflow; exactly one drain leads away from its foot", kStandpipe, kStandpipeChildren},
    ElementRule{"insert", "a length of pipe that sets the lip; the first is fitted unless an arrangement says otherwise", kInsert, {}},
    ElementRule{"drain-hole", "holes that let the vessel empty slowly", kDrainHole, {}},
    ElementRule{"siphon", "a bell siphon; exactly one pipe or drain leads away", kSiphon, {}},
    ElementRule{"pipe", "a pipe that runs full", kPipe, kPipeChildren},
    ElementRule{"drain", "a pipe that water falls through and that may run part full", kDrain, kPipeChildren},
    ElementRule{"fitting", "elbows, tees and the like in a pipe", kFitting, {}},
    ElementRule{"valve", "a valve in a pipe", kValve, {}},
    ElementRule{"arrangement", "a named setting of valves, pumps, inserts and filters", kArrangement, kArrangementChildren},
    ElementRule{"open", "opens a valve fully", kOpenOrClose, {}},
    ElementRule{"close", "shuts a valve", kOpenOrClose, {}},
    ElementRule{"throttle", "opens a valve partly", kThrottle, {}},
    ElementRule{"run", "runs a pump", kRunPump, {}},
    ElementRule{"stop", "stops a pump", kStopPump, {}},
    ElementRule{"fit", "puts an insert into a standpipe", kFit, {}},
    ElementRule{"load", "how dirty a filter is", kLoad, {}},
    ElementRule{"routine", "what happens in time", kRoutine, kRoutineChildren},
    ElementRule{"timer", "opens a valve or runs a pump by the clock", kTimer, {}},
    ElementRule{"rotation", "opens valves in turn", kRotation, {}},
    ElementRule{"level-switch", "stops, starts, closes or opens something by the depth of a vessel", kLevelSwitch, {}},
    ElementRule{"power-cut", "all pumps stop for a while", kPowerCut, {}},
    ElementRule{"draw", "takes water from a vessel, once or again and again: sludge, decant, harvest", kDraw, {}},
    ElementRule{"uptake", "takes water from a vessel all the time", kUptake, {}},
    ElementRule{"change", "settings that are changed at a moment and stay so", kChange, kArrangementChildren, true},
    ElementRule{"failure", "a pump gives out: nothing starts it before it is mended", kFailure, {}},
    ElementRule{"pump-model", "a kind of pump: points of its curve, or its label", kPumpModel, kPumpModelChildren},
    ElementRule{"point", "a point of a pump curve", kPoint, {}},
    ElementRule{"pipe-series", "pipes of one make in several sizes", kPipeSeries, kPipeSeriesChildren},
    ElementRule{"size", "one size of a series", kPipeSize, {}},
    ElementRule{"prices", "what sizes of a series cost; only sizes with a price are sold", kPrices, kPricesChildren},
    ElementRule{"size", "what a metre of one size costs", kPricedSize, {}, false, "prices"},
    ElementRule{"fitting-kind", "a kind of fitting", kFittingKind, {}},
    ElementRule{"economy", "what running costs and what may be bought, for `pumps` and `pipes`", kEconomy, kEconomyChildren},
    ElementRule{"hours", "how much of a year an arrangement runs; with no such line the arrangements share the year equally", kHours, {}},
    ElementRule{"candidate", "a pump that may be bought; with no such line every model that is known", kCandidate, {}},
    ElementRule{"limits", "what `pipes` keeps the pipes it chooses within", kDesignLimits, {}},
    ElementRule{"plus-minus", "how far the truth may be from what is drawn, in 95 of 100 cases, for `flows --uncertain`", kPlusMinus, {}},
    ElementRule{"readings", "what was read at a farm: root of a readings file, for `diagnose`", kReadings, kReadingsChildren},
    ElementRule{"gauge", "where a pressure gauge hangs or can be hung", kGauge, {}},
    ElementRule{"how-often", "how likely a kind of fault is, instead of the built-in chance", kHowOften, {}},
    ElementRule{"when", "what was read while the farm was in one arrangement", kWhen, kWhenChildren},
    ElementRule{"level", "how high the water stands in a vessel, and whether it moves", kLevelRead, {}},
    ElementRule{"flow", "a flow by a meter", kFlowRead, {}},
    ElementRule{"bucket", "a flow by bucket and watch", kBucketRead, {}},
    ElementRule{"pressure", "what a gauge shows", kPressureRead, {}},
    ElementRule{"time", "how long a level takes from one depth to another", kTimeRead, {}},
    ElementRule{"siphon", "what a siphon does", kSiphonRead, {}, false, "when"},
    ElementRule{"overflow", "whether a standpipe runs over its lip", kOverflowRead, {}},
    ElementRule{"spill", "whether a vessel runs over its rim", kSpillRead, {}},
    ElementRule{"air", "whether a pump draws air", kAirRead, {}},
};

}  // namespace

std::span<const ElementRule> all_elements() { return kElements; }

}  // namespace ebb::netfiles
