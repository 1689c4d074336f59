#pragma once
// The English of the report, in one place: headings, notes and labels. What it shares with the other commands (titles of tables, findings, cautions)
// stands with those. The page's own script has no words of its own: it takes them from here too (report_data.cpp).

#include <string_view>

namespace ebb::cli::words {

// ---- marks
inline constexpr std::string_view kTrouble = "trouble";
inline constexpr std::string_view kDoubt = "worth a second look";
inline constexpr std::string_view kTable = "table";

// ---- the page
inline constexpr std::string_view kNoName = "A layout without a name";
inline constexpr std::string_view kMadeOf =
    "Made by ebbwright {} from {}. The page needs no network and no other file. On paper it shows what is unfolded.";
inline constexpr std::string_view kContents = "On this page";
inline constexpr std::string_view kSkip = "Skip to the results";
inline constexpr std::string_view kSkipDrawing = "Skip the drawing";
inline constexpr std::string_view kNoScript =
    "Everything on this page can be read and printed as it is. Only the switches, the choice of an arrangement in the drawing and the numbers on "
    "hover need a browser that runs scripts.";

// ---- at a glance
inline constexpr std::string_view kGlance = "At a glance";
inline constexpr std::string_view kGlanceFine = "{}: nothing wrong in any of them.";
inline constexpr std::string_view kGlanceFineOne = "Nothing wrong in the one arrangement.";
inline constexpr std::string_view kGlanceWrong = "{}, {} to look at.";

// ---- profile
inline constexpr std::string_view kProfile = "The farm in elevation";
inline constexpr std::string_view kProfileNote = "Water, flows and the line of head are those of the arrangement or combination chosen below.";

// ---- what if
inline constexpr std::string_view kWhatIf = "What if";
inline constexpr std::string_view kWhatIfNote =
    "Turn things off and on: every figure below, and the drawing above, is of exactly the combination that is stated.";
inline constexpr std::string_view kWhatIfAll = "All {} combinations of these switches are held in this page.";
inline constexpr std::string_view kWhatIfSome =
    "Of the {} combinations of these switches this page holds {}: every combination of {}, and of the others one or a few at a time, the rest as in "
    "'{}'. For one that is not held the nearest that is can be shown; --switch chooses other switches.";
inline constexpr std::string_view kWhatIfSomeFew =
    "Of the {} combinations of these switches this page holds {}. For one that is not held the nearest that is can be shown.";
inline constexpr std::string_view kArrangement = "Arrangement";
inline constexpr std::string_view kSwitches = "Switches, from '{}'";
inline constexpr std::string_view kSwitchesReset = "As arranged";
inline constexpr std::string_view kValvesOf = "valves";
inline constexpr std::string_view kPumpsOf = "pumps";
inline constexpr std::string_view kInsertsOf = "standpipes";
inline constexpr std::string_view kStopped = "stopped";
inline constexpr std::string_view kStated = "Shown: '{}'";
inline constexpr std::string_view kStatedAllOn = "as arranged";
inline constexpr std::string_view kStatedOff = "off: {}";
inline constexpr std::string_view kStatedOn = "on: {}";
inline constexpr std::string_view kStatedNotHeld = "This page does not hold the combination of these switches. The nearest it holds differs in {}.";
inline constexpr std::string_view kShowNearest = "Show the nearest";
inline constexpr std::string_view kStatedDiffers = "This is the nearest combination held; it differs from what was asked in {}.";
inline constexpr std::string_view kSpills = "runs over: {}";
inline constexpr std::string_view kStateVessels = "What each vessel gets";
inline constexpr std::string_view kStatePumps = "What each pump does";

// ---- balance and arrangements
inline constexpr std::string_view kBalance = "What each vessel gets, by arrangement";
inline constexpr std::string_view kBalanceNote =
    "Per cent of what each vessel wants; of a vessel without a wish, of what it gets in '{}'. A point: no water on purpose. A wave: it runs over. "
    "The signs in the key tell the same as the colours.";
inline constexpr std::string_view kBalanceKey = "−− under 80 %   − to 100 %   + to 120 %   ++ more";
inline constexpr std::string_view kArrangements = "Each arrangement";
inline constexpr std::string_view kNotInFull =
    "With so many things in so many arrangements the rest is left out here; --arrangement NAME makes a page of one in full.";
inline constexpr std::string_view kShut = "Shut: ";
inline constexpr std::string_view kSet = "Set: ";
inline constexpr std::string_view kOffOnPurpose = "Without water on purpose: ";
inline constexpr std::string_view kVessels = "Vessels";
inline constexpr std::string_view kPumps = "Pumps";
inline constexpr std::string_view kNozzles = "Nozzles";
inline constexpr std::string_view kOverflows = "Overflows";
inline constexpr std::string_view kSiphons = "Siphons";
inline constexpr std::string_view kDrains = "Drains";
inline constexpr std::string_view kPipes = "Pipes under pressure";
inline constexpr std::string_view kDevices = "Filters, float valves, supplies, ponds";
inline constexpr std::string_view kTees = "Tees";

// ---- pumps
inline constexpr std::string_view kPumpsHeading = "Pumps";
inline constexpr std::string_view kPumpCaption = "{}: what it lifts, and what the farm asks for";
inline constexpr std::string_view kPumpSays = "Head against flow of pump {}. Its curve falls from {} at no flow. It runs at: {}.";
inline constexpr std::string_view kPumpCurve = "{} lifts";
inline constexpr std::string_view kPumpBand = "{}, as its label may be meant";
inline constexpr std::string_view kSystem = "asked in '{}'";
inline constexpr std::string_view kDuty = "runs here";
inline constexpr std::string_view kAtSpeed = "at {} speed";
inline constexpr std::string_view kBestWindow = "70 to 120 % of best flow";
inline constexpr std::string_view kEfficiencyCaption = "{}: efficiency";
inline constexpr std::string_view kNpshCaption = "{}: suction head it needs (NPSH), and what it has";
inline constexpr std::string_view kNeeds = "needs";
inline constexpr std::string_view kHas = "has";
inline constexpr std::string_view kFlowAxis = "flow, {}";
inline constexpr std::string_view kHeadAxis = "head, {}";
inline constexpr std::string_view kEfficiencyAxis = "efficiency, %";
inline constexpr std::string_view kNoCurves = "What the farm asks of this pump is not drawn: with so many pipes or pumps it takes long. Made with "
                                              "--whole, or by 'ebbwright pumps', it is looked at.";

// ---- sizes of pipes
inline constexpr std::string_view kSizing = "Pipe sizes: what more would cost";
inline constexpr std::string_view kSizingCaption = "Cost over the years against what the worst target has to spare";
inline constexpr std::string_view kSizingNone =
    "No sizes were found that meet every target within the limits; 'ebbwright pipes' says what stands in the way.";
inline constexpr std::string_view kSizingSkipped =
    "{} of this layout are marked to be chosen. Made with --whole, this page also shows what other sizes would cost and spare.";
inline constexpr std::string_view kSpareAxis = "to spare, % of the target";
inline constexpr std::string_view kCostAxis = "cost over the years, {}";
inline constexpr std::string_view kCheapest = "cheapest sizes that spare so much";
inline constexpr std::string_view kChosenCaption = "The cheapest sizes that meet every target";

// ---- time
inline constexpr std::string_view kTime = "In the course of time";
inline constexpr std::string_view kTimeCaption = "Levels in '{}'";
inline constexpr std::string_view kTimeSays = "Depths against time of {}; each strip from the floor to the rim.";
inline constexpr std::string_view kTimeNote = "Each strip reaches from the floor to the rim; beside it the greatest (↑) and the least (↓) depth. "
                                              "Dotted: lips of standpipes. Upright lines: what "
                                              "was switched, or went wrong; pointing at one tells.";
inline constexpr std::string_view kTimeFigures = "Figures";
inline constexpr std::string_view kStill = "Stand still within 5 mm: {}.";
inline constexpr std::string_view kMoreStrips = "Also move: {}; 'ebbwright cycle --series' writes every level.";
inline constexpr std::string_view kCycleCaption = "One cycle of {}";
inline constexpr std::string_view kCycleSays = "Depth of {} over one cycle: fills in {}, holds {}, drains in {}.";
inline constexpr std::string_view kFills = "fills";
inline constexpr std::string_view kHolds = "holds";
inline constexpr std::string_view kDrainsSpan = "drains";
inline constexpr std::string_view kHoursAxis = "hours";
inline constexpr std::string_view kMinutesAxis = "minutes";
inline constexpr std::string_view kDepthAxis = "depth, {}";
inline constexpr std::string_view kEvents = "Events";
inline constexpr std::string_view kEventsFirst = "The first {} of {} events; 'ebbwright cycle --all-events' tells them all.";
inline constexpr std::string_view kBedsCaption = "Beds, their last whole cycle";
inline constexpr std::string_view kDepthsCaption = "Depths";
inline constexpr std::string_view kWaterCaption = "Water that came and went";
inline constexpr std::string_view kCyclesSummary = "One cycle of each bed";
inline constexpr std::string_view kNoPower = "no power";

// ---- ledger
inline constexpr std::string_view kLedger = "Marks to paint on the wall of each sump";
inline constexpr std::string_view kLedgerNote = "In '{}'. Heights above the floor of the sump; the drawing is to scale.";
inline constexpr std::string_view kLedgerSays = "The sump {} as an upright bar, from its floor to its rim, with these marks: {}.";

// ---- power cut
inline constexpr std::string_view kCut = "When the power fails";
inline constexpr std::string_view kCutFirst = "What to do first";
inline constexpr std::string_view kCutAir = "1. Air for the fish before anything else: battery air, or a bucket poured from a height, tank by tank.";
inline constexpr std::string_view kCutSwitch = "2. Pumps off at their switches, so that nothing starts while hands are in the water.";
inline constexpr std::string_view kCutLook = "3. Look at {}: the water that comes home should stop at {}.";
inline constexpr std::string_view kCutDanger =
    "4. Something spills after {}: shut the valves of what runs back, or make room in the sump before then.";
inline constexpr std::string_view kCutNoDanger = "4. Nothing here runs over, however long it lasts. Feed no more until the power is back.";
inline constexpr std::string_view kCutBack =
    "5. With the power back: pumps on one after the other; watch that no intake draws air, and that tanks and beds get water again.";
inline constexpr std::string_view kCutLevels = "Where the water goes, from '{}'";
inline constexpr std::string_view kCutClocks = "Clocks";
inline constexpr std::string_view kCutClockAir =
    "Fish without air and flow (common practice; ask who knows your stock): about 10 min at 60 kg/m3, 15 min at 40, 30 min at 20, 60 min at 10.";
inline constexpr std::string_view kCutClockHome = "Until the water is home: {}.";
inline constexpr std::string_view kCutClockSpill = "Until something runs over: {}.";
inline constexpr std::string_view kCutClockNoSpill = "Until something runs over: it does not.";

// ---- siphons
inline constexpr std::string_view kSiphonsHeading = "Will the siphons start, and will they stop?";
inline constexpr std::string_view kSiphonsCaption = "Inflow of each siphon's bed against its window";
inline constexpr std::string_view kSiphonsSays =
    "For each siphon: the inflow from which it may start and surely starts, and what its bed gets in the arrangements in which water comes.";
inline constexpr std::string_view kSiphonsNote =
    "Full: it starts and breaks, found by following the bed in time. Pale: whether it starts there is uncertain (0.3 to 1 times A sqrt(g D), common "
    "practice). Points: what the bed gets.";
inline constexpr std::string_view kMayStart = "may start: {} to {}";
inline constexpr std::string_view kStartsBreaks = "starts and breaks: {} to {}";
inline constexpr std::string_view kGetsIn = "{} gets {} in '{}'";
inline constexpr std::string_view kInflowAxis = "inflow, {}";

// ---- how sure
inline constexpr std::string_view kUnsure = "How sure is this, and what to measure first";
inline constexpr std::string_view kUnsureNote =
    "'{}' solved {} times, each time with everything that is not known exactly a little different. The bars: how much of the spread of the targets' "
    "figures each unknown makes.";
inline constexpr std::string_view kUnsureCaption = "What moves the answer most";
inline constexpr std::string_view kUnsureSays = "Share of the spread of the targets' figures by unknown: {}.";
inline constexpr std::string_view kUnsureAxis = "share of the spread, %";
inline constexpr std::string_view kUnsureFigures = "Between these figures lie 90 of 100 of them";

// ---- diagnosis
inline constexpr std::string_view kDiagnosis = "What the readings point to";
inline constexpr std::string_view kDiagnosisCaption = "Explanations, the likeliest first";
inline constexpr std::string_view kDiagnosisSays = "How likely each explanation of the readings is: {}.";
inline constexpr std::string_view kDiagnosisAxis = "likely, %";
inline constexpr std::string_view kNextCaption = "What to read next";

// ---- commissioning
inline constexpr std::string_view kSheet = "Commissioning sheet";
inline constexpr std::string_view kSheetNote =
    "One sheet for each arrangement. Set the valves, wait until no level moves, measure, write down. Clean water, no fish, dry hands at switches.";
inline constexpr std::string_view kSchedule = "Valve schedule";
inline constexpr std::string_view kScheduleNote = "How far open each valve, how fast each pump, which insert: in every arrangement, on one sheet.";
inline constexpr std::string_view kSheetDate = "date ____________   by ________________________";
inline constexpr std::string_view kSheetValves = "Set";
inline constexpr std::string_view kSheetValvesNone = "Everything open, every pump at full speed.";
inline constexpr std::string_view kSheetOutlets = "A bucket at each outlet";
inline constexpr std::string_view kSheetLevels = "A tape from the rim down to the water";
inline constexpr std::string_view kSheetGauges = "Gauges and switches at the pumps";
inline constexpr std::string_view kSheetBand =
    "A bucket that fills within the band is as good as the expectation (plus or minus 10 %, common practice). Three buckets, the middle one counts.";
inline constexpr std::string_view kSheetLarge = "too much for a bucket: time how long the vessel takes to rise";
inline constexpr std::string_view kSheetOrder = "First fill to the lines of all pumps stopped, then the pumps one by one; look for leaks; try the "
                                                "overflows with the main drain held shut; try a power cut and a restart; only then measure.";

// ---- setting out
inline constexpr std::string_view kHeights = "Setting out";
inline constexpr std::string_view kHeightsNote =
    "Heights above the floor of each vessel, and above the datum of the layout. Set with a level and check again with water in.";
inline constexpr std::string_view kHeightsOthers = "Tees and pumps";
inline constexpr std::string_view kFallsCaption = "Falls of the drains";
inline constexpr std::string_view kFallsNote =
    "Usual least falls: 20 mm per metre up to 65 mm of bore, 10 up to 150 mm, 5 beyond (common plumbing practice; local codes have the last word).";

// ---- bill
inline constexpr std::string_view kBill = "Bill of materials";
inline constexpr std::string_view kBillNote =
    "Counted from the layout; without offcuts, glue, unions, supports and spares. What is not in the layout is not here.";
inline constexpr std::string_view kBillPipes = "Pipe";
inline constexpr std::string_view kBillFittings = "Fittings";
inline constexpr std::string_view kBillValves = "Valves";
inline constexpr std::string_view kBillDevices = "Pumps and devices";
inline constexpr std::string_view kBillVessels = "Vessels";

// ---- safety
inline constexpr std::string_view kSafety = "Take care";
inline constexpr std::string_view kLoadsCaption = "What flooded vessels weigh on what they stand on";
inline constexpr std::string_view kLoadsNote = "Water to the rim, beds with media from clay pebble to gravel (common practice), without the vessel "
                                               "itself and people at it. Benches, slabs and floors are a structural engineer's matter.";
inline constexpr std::string_view kCautions = "In general";
inline constexpr std::string_view kPowerUnknown = "power unknown";
inline constexpr std::string_view kCircuits = "Protected circuits";
inline constexpr std::string_view kCircuit = "{}: {}, on a residual-current circuit of its own if it keeps fish alive; air on another one.";
inline constexpr std::string_view kAirGap = "Air gap of the top-up";
inline constexpr std::string_view kAirGapFree = "{} ends {} above the rim of {}; wanted at least {} (two bores, and 25 mm; some codes 100 mm).";
inline constexpr std::string_view kAirGapUnder =
    "{} ends {} below the rim of {}: no air gap. A backflow preventer, or an outlet at least {} above the rim.";
inline constexpr std::string_view kAirGapUnknown =
    "{} works at the level of {}: nothing is said of the height of its outlet. Wanted: at least {} above the rim.";
inline constexpr std::string_view kGuards = "Guards at suction inlets";
inline constexpr std::string_view kGuard = "{} takes up to {}: a guard with at least {} of open area keeps it at 0.5 m/s or less.";

// ---- basis
inline constexpr std::string_view kBasis = "What this rests on";
inline constexpr std::string_view kBasisNone = "The layout says everything; nothing had to be assumed.";

// ---- titles of columns
inline constexpr const char* kCol1Says = "1. says";
inline constexpr const char* kCol1st = "1st";
inline constexpr const char* kCol2Says = "2. says";
inline constexpr const char* kCol2nd = "2nd";
inline constexpr const char* kCol3rd = "3rd";
inline constexpr const char* kColAboveItsFloor = "above its floor";
inline constexpr const char* kColAboveTheDatum = "above the datum";
inline constexpr const char* kColAfter = "after";
inline constexpr const char* kColArrangement = "arrangement";
inline constexpr const char* kColBedGets = "bed gets";
inline constexpr const char* kColBeginsAt = "begins at";
inline constexpr const char* kColBore = "bore";
inline constexpr const char* kColBreaksTo = "breaks up to";
inline constexpr const char* kColBucket = "bucket";
inline constexpr const char* kColCosts = "costs";
inline constexpr const char* kColCount = "count";
inline constexpr const char* kColDepth = "depth";
inline constexpr const char* kColDevice = "device";
inline constexpr const char* kColDrain = "drain";
inline constexpr const char* kColEndsAt = "ends at";
inline constexpr const char* kColExpected = "expected";
inline constexpr const char* kColExplanation = "explanation";
inline constexpr const char* kColFalls = "falls";
inline constexpr const char* kColFor = "for";
inline constexpr const char* kColFound = "found";
inline constexpr const char* kColFoundPower = "found power";
inline constexpr const char* kColFoundShut = "found shut";
inline constexpr const char* kColFoundStopped = "found stopped";
inline constexpr const char* kColFromToTo = "from > to";
inline constexpr const char* kColGets = "gets";
inline constexpr const char* kColGoodFromTo = "good from-to";
inline constexpr const char* kColGoodasked = "good?";
inline constexpr const char* kColGreatest = "greatest";
inline constexpr const char* kColHeight = "height";
inline constexpr const char* kColHoldsToTheRim = "holds to the rim";
inline constexpr const char* kColIn = "in";
inline constexpr const char* kColInAll = "in all";
inline constexpr const char* kColInArrangement = "in arrangement";
inline constexpr const char* kColInPerFoot = "in per foot";
inline constexpr const char* kColKind = "kind";
inline constexpr const char* kColLeast = "least";
inline constexpr const char* kColLength = "length";
inline constexpr const char* kColLevel = "level";
inline constexpr const char* kColLifts = "lifts";
inline constexpr const char* kColLikely = "likely";
inline constexpr const char* kColMayStartFrom = "may start from";
inline constexpr const char* kColMiddle = "middle";
inline constexpr const char* kColMmPerMetre = "mm per metre";
inline constexpr const char* kColMoves = "moves";
inline constexpr const char* kColOnEachUnitOfArea = "on each unit of area";
inline constexpr const char* kColOutlet = "outlet";
inline constexpr const char* kColPipe = "pipe";
inline constexpr const char* kColPlan = "plan";
inline constexpr const char* kColPower = "power";
inline constexpr const char* kColPump = "pump";
inline constexpr const char* kColPumpsStoppedDepth = "pumps stopped: depth";
inline constexpr const char* kColReadNext = "read next";
inline constexpr const char* kColRimToWater = "rim to water";
inline constexpr const char* kColRuns = "runs";
inline constexpr const char* kColSeconds = "seconds";
inline constexpr const char* kColSettles = "settles";
inline constexpr const char* kColSiphon = "siphon";
inline constexpr const char* kColSize = "size";
inline constexpr const char* kColStartsWith = "starts with";
inline constexpr const char* kColSurelyFrom = "surely from";
inline constexpr const char* kColTargetsMet = "targets met";
inline constexpr const char* kColToChoose = "to choose";
inline constexpr const char* kColToRim = "to rim";
inline constexpr const char* kColTurnsOverIn = "turns over in";
inline constexpr const char* kColUsualLeast = "usual least";
inline constexpr const char* kColValveBehindItShutLifts = "valve behind it shut: lifts";
inline constexpr const char* kColVessel = "vessel";
inline constexpr const char* kColWants = "wants";
inline constexpr const char* kColWhat = "what";
inline constexpr const char* kColWhatHappens = "what happens";
inline constexpr const char* kColWhatMattersMost = "what matters most";

// ---- cells
inline constexpr const char* kRunsForEver = "runs for ever";
inline constexpr const char* kDribbles = "dribbles";
inline constexpr std::string_view kInto = "{} into {}";
inline constexpr std::string_view kAreShut = "{} shut";
inline constexpr const char* kIsShut = "shut";
inline constexpr const char* kIsOpen = "open";
inline constexpr const char* kIsOff = "off";
inline constexpr const char* kIsOn = "on";
inline constexpr const char* kHRim = "rim";
inline constexpr const char* kHMedia = "top of the media";
inline constexpr const char* kHLeast = "least depth";
inline constexpr std::string_view kHLipOf = "lip of {}, {}";
inline constexpr std::string_view kHLip = "lip of {}";
inline constexpr std::string_view kHCrest = "crest of {}";
inline constexpr std::string_view kHBreak = "break hole of {}";
inline constexpr std::string_view kHNozzle = "nozzle {}";
inline constexpr std::string_view kHFloatShut = "float of {}: shut";
inline constexpr std::string_view kHFloatOpen = "float of {}: wide open";
inline constexpr std::string_view kHOutlet = "outlet of {}";
inline constexpr std::string_view kHIntake = "intake of {}";
inline constexpr std::string_view kHLeaves = "{} leaves";
inline constexpr std::string_view kHEnds = "{} ends";
inline constexpr std::string_view kHAirHole = "air hole of {}";
inline constexpr const char* kHFloor = "floor";
inline constexpr const char* kTeeVented = "tee, vented";
inline constexpr const char* kTee = "tee";
inline constexpr const char* kRises = "rises";
inline constexpr const char* kFlat = "flat";
inline constexpr std::string_view kHHole = "hole of {} in {}";
inline constexpr std::string_view kHHoles = "holes of {} in {}";
inline constexpr std::string_view kBore = "bore {}";
inline constexpr std::string_view kFittingOf = "fitting of {} velocity heads";
inline constexpr const char* kFitting = "fitting";
inline constexpr const char* kValve = "valve";
inline constexpr std::string_view kValveKind = "{} valve";
inline constexpr std::string_view kPumpModel = "pump '{}'{}";
inline constexpr const char* kWithCheck = ", with a check valve";
inline constexpr const char* kFilter = "filter";
inline constexpr std::string_view kNozzleOf = "nozzle, {} holes of {}";
inline constexpr const char* kNozzle = "nozzle";
inline constexpr const char* kFloatValve = "float valve";
inline constexpr std::string_view kStandpipeOf = "standpipe of {}, {}";
inline constexpr std::string_view kSiphonOf = "siphon of {}";
inline constexpr const char* kArrangementsMany = "arrangements";

}  // namespace ebb::cli::words
