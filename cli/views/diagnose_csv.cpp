// `diagnose --format csv`: one row for each explanation, the likeliest first.

#include <algorithm>

#include "cli/views/csv.h"
#include "cli/views/diagnose_view.h"

namespace ebb::cli {

namespace {

/// Kind, place, other place, size and its range: empty cells where there is no such fault.
std::string fault_cells(const DiagnoseScene& scene, const diagnose::Explanation& one, std::size_t k) {
    if (k >= one.faults.size()) return ",,,,,";
    const diagnose::Fault& fault = scene.signatures.faults()[one.faults[k]];
    const diagnose::SizeRange& size = one.sizes[k];
    std::string text = csv_cell(diagnose::data_of(fault.kind).name) + ',' + csv_cell(scene.words.id(fault.at)) + ',' +
                       (fault.other.index >= 0 ? csv_cell(scene.words.id(fault.other)) : std::string());
    if (!fault.sized()) return text + ",,,";
    return text + ',' + csv_number(size.best) + ',' + csv_number(std::min(size.low, size.high)) + ',' + csv_number(std::max(size.low, size.high));
}

}  // namespace

void write_diagnose_csv(const DiagnoseScene& scene, Output& output) {
    output.write(
        "group,probability,chi_squared,fits,misread_reading,kind,at,other,size,size_low,size_high,second_kind,second_at,second_other,second_size,"
        "second_size_low,second_size_high,says\n");
    for (std::size_t g = 0; g < scene.diagnosis.ties.size(); ++g)
        for (const std::size_t e : scene.diagnosis.ties[g].explanations) {
            const diagnose::Explanation& one = scene.diagnosis.explanations[e];
            output.write(std::to_string(g + 1) + ',' + csv_number(one.probability) + ',' + csv_number(one.chi_squared) + ',' +
                         (one.fits ? "yes" : "no") + ',' + (one.misread >= 0 ? std::to_string(one.misread + 1) : std::string()) + ',' +
                         fault_cells(scene, one, 0) + ',' + fault_cells(scene, one, 1) + ',' + csv_cell(explanation_sentence(scene, one)) + '\n');
        }
}

}  // namespace ebb::cli
