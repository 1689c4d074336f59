// `report`: one page for everybody who has to do with the farm, with what the other commands find out.

#include "cli/report.h"

#include "cli/commands.h"
#include "cli/session.h"
#include "cli/views/report/profile.h"
#include "solver/settle/many.h"

namespace ebb::cli {

ExitStatus run_report(const ReportRequest& request, Output& output) {
    const netfiles::ReadResult read = netfiles::read_layout(request.common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    const auto chosen = chosen_arrangements(read.layout, request.common);
    if (!chosen || !output_is_safe(output, read)) return ExitStatus::command_line;
    const Subject subject = subject_of(request.common, read, chosen->size());
    settle::Many many(read.layout, {}, *chosen, 2);
    const settle::Answer answer = many.take(0);
    const std::vector<Finding> found = findings(read.layout, answer, subject.speech);
    pugi::xml_document document;
    const html::Node body = document.append_child("body");
    const html::Node main = html::add(body, "main");
    const layout::Conditions conditions = layout::conditions_of(read.layout, answer.arrangement);
    draw_profile(main, {read.layout, answer, conditions, found, subject.speech});
    const nlohmann::json data = {{"profile", profile_data(read.layout)}};
    output.write(html::written({.title = read.layout.name,
                                .styles = {assets::page_css(), assets::profile_css()},
                                .scripts = {assets::page_js(), assets::profile_js()},
                                .data = data.dump()},
                               body));
    return ExitStatus::fine;
}

}  // namespace ebb::cli
