// `cycle --format json`: the stable contract, and keys of our own beside it. docs/commands.md lists them all.

#include "cli/views/course_json.h"
#include "cli/views/cycle_view.h"
#include "cli/views/json_writer.h"
#include "cli/views/warnings_json.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

class CycleJson final : public CycleView {
public:
    CycleJson(const Subject& subject, Output& output) : subject_(subject), json_(output) {}

    void begin() override {
        json_.begin_object();
        json_.entry("ebbwright", kVersion);
        json_.entry("layout", subject_.layout.name);
        json_.key("routines");
        json_.begin_array();
    }

    void show(const CycleRun& run) override {
        json_.new_line();
        json_.begin_object();
        json_.entry("name", run.course.name);
        json_.entry("arrangement", subject_.layout.arrangements[static_cast<std::size_t>(run.plan.arrangement)].name);
        write_course(json_, subject_, run.plan, run.course);
        write_warnings(json_, subject_, run.found);
        write_targets(run.targets);
        json_.end_object();
    }

    void end() override {
        json_.end_array();
        json_.end_object();
        json_.finish();
    }

private:
    void write_targets(const std::vector<TimeTarget>& targets) {
        json_.open_list("targets");
        for (const TimeTarget& target : targets) {
            json_.open_element(target.about, "about");
            json_.entry("wants", wish_of(target));
            json_.entry("got", target.got);
            json_.entry("met", target.met);
            json_.entry("asked", target.asked);
            json_.end_object();
        }
        json_.end_array();
    }

    const Subject& subject_;
    JsonWriter json_;
};

}  // namespace

std::unique_ptr<CycleView> make_cycle_json(const Subject& subject, Output& output) { return std::make_unique<CycleJson>(subject, output); }

}  // namespace ebb::cli
