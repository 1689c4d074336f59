#pragma once
// Levels and pump flows against time, in a file of their own: CSV, or JSON when its name ends in .json.
//
//   csv   t_s,B1_depth_m,...,P1_flow_m3_s,...    one row per moment; with several routines a first column names the routine
//   json  {"ebbwright":"...","layout":"...","series":[{"routine":"...","t_s":[...],"vessels":[{"id":"B1","depth_m":[...]}],
//          "pumps":[{"id":"P1","flow_m3_s":[...]}]}]}

#include <memory>
#include <string>

#include "cli/output.h"
#include "solver/layout/layout.h"
#include "solver/time/answer.h"

namespace ebb::cli {

class JsonWriter;

class SeriesFile {
public:
    /// `routines`: how many there will be. Throws OutputFailed when the file could not be written anyway.
    SeriesFile(const std::string& file, const layout::Layout& layout, std::size_t routines);
    ~SeriesFile();
    SeriesFile(const SeriesFile&) = delete;
    SeriesFile& operator=(const SeriesFile&) = delete;

    void add(const time::Course& course);
    /// Brings the file to its place; without it there is none.
    void finish();

private:
    void add_rows(const time::Course& course);
    void add_json(const time::Course& course);

    const layout::Layout& layout_;
    bool names_routine_;
    Output output_;
    std::unique_ptr<JsonWriter> json_;  ///< none: CSV
};

}  // namespace ebb::cli
