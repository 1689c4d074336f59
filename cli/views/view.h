#pragma once
// A view turns answers into something to look at. Answers come one by one and are not kept: a view that needs all of them
// (a summary) keeps what it needs. Views name things and change units; they decide nothing.

#include <memory>
#include <string>
#include <vector>

#include "cli/findings.h"
#include "cli/output.h"
#include "cli/request.h"
#include "cli/views/speech.h"
#include "solver/layout/layout.h"
#include "solver/settle/answer.h"
#include "solver/survey/uncertain.h"

namespace ebb::cli {

/// What every view needs to know besides the answers.
struct Subject {
    const layout::Layout& layout;
    std::vector<std::string> files;  ///< names of the files read, as Place::file counts them
    Speech speech;
    bool colour = false;
    std::size_t arrangements = 0;  ///< how many answers will come
    bool everything = false;       ///< text: nothing left out, however many they are
    std::size_t width = 100;       ///< text: columns of the page, where it can be stretched
    bool block_letters = false;    ///< text: the reader's letters go beyond ASCII
    bool uncertain = false;        ///< it was asked how sure the figures are
};

class FlowsView {
public:
    virtual ~FlowsView() = default;
    virtual void begin() = 0;
    /// `unsure`: how sure the figures are; nullptr where that was not asked, or there are no figures.
    virtual void show(const settle::Answer& answer, const std::vector<Finding>& found, const survey::UncertainAnswer* unsure) = 0;
    void show(const settle::Answer& answer, const std::vector<Finding>& found) { show(answer, found, nullptr); }
    virtual void end() = 0;
};

std::unique_ptr<FlowsView> make_flows_json(const Subject& subject, Output& output);
std::unique_ptr<FlowsView> make_flows_csv(const Subject& subject, Output& output);
std::unique_ptr<FlowsView> make_flows_text(const Subject& subject, Output& output);

}  // namespace ebb::cli
