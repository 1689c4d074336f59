#pragma once
// The user's own file with a few things changed and everything else as it was: comments, order, spaces, line ends, quotes, the mark at the
// beginning of the file. The text is edited in place, by offsets; nothing is written anew from a model of it.
//
// A change that falls in an included file is made in a copy of that file's children, which then stand where the include stood, so that the
// result needs no changed file beside it. When the result is to lie in another folder than the layout, everything included is put in its place so.

#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <tuple>
#include <utility>
#include <vector>

#include "netfiles/reader.h"

namespace ebb::netfiles {

/// Changes to the text of a layout file that was read: what is not changed stays as it was written, comments and spaces too.
class Rewrite {
public:
    /// `read` is good() and outlives this.
    explicit Rewrite(const ReadResult& read) : read_(&read) {}

    // ---- what the design commands ask for; indices are those of the layout

    /// The pipe gets this size of its series.
    void set_pipe_size(std::int32_t pipe, const std::string& size);
    /// The pump becomes `count` of this model, side by side.
    void set_pump(std::int32_t pump, const std::string& model, int count);
    /// The valve stands at this share of its travel in this arrangement (0 shut, 1 open): the arrangement's own line about it is changed, or
    /// one is added where what it is based on does not say the same. Arrangements based on this one follow, unless they are set themselves.
    void set_valve_opening(std::int32_t arrangement, std::int32_t valve, double share);
    /// The same of a pump: 0 stops it.
    void set_pump_speed(std::int32_t arrangement, std::int32_t pump, double share);

    /// How dirty a filter is in this arrangement, with lines as of valves.
    void set_filter_load(std::int32_t arrangement, std::int32_t filter, double share);
    /// What calibration finds: the share of its head that a pump has lost; roughness, or C, of one pipe.
    void set_pump_wear(std::int32_t pump, double share);
    /// The pipe gets this roughness of its own, m.
    void set_pipe_roughness(std::int32_t pipe, double roughness_m);
    /// The pipe gets this Hazen-Williams C of its own.
    void set_pipe_hazen_williams(std::int32_t pipe, double coefficient);

    // ---- anything else; `element` is the place of an element of the files read. Texts are plain, escaped here; markup is put in as it is.

    /// The attribute says this from now on; it is added where it was not.
    void set_attribute(const layout::Place& element, const std::string& attribute, const std::string& value);
    /// The attribute is taken out.
    void remove_attribute(const layout::Place& element, const std::string& attribute);
    /// The element becomes one of another name, its attributes and children kept.
    void rename_element(const layout::Place& element, const std::string& word);
    /// This markup stands in place of the element.
    void replace_element(const layout::Place& element, const std::string& markup);
    /// A line of markup at the end of the element, indented as its neighbours are. A line end in it begins another line; a tab there is one
    /// step of indentation.
    void add_child(const layout::Place& element, const std::string& markup);

    /// The text of the changed layout, as it is to be written to `file`.
    std::string text(const std::filesystem::path& file) const;

    /// Reads text(file) as if it stood in `file` already, without touching the disk: what is good may be written.
    ReadResult reread(const std::filesystem::path& file) const;

private:
    /// What is to become of one element.
    struct ElementChange {
        std::string word;                                          ///< empty: as it is
        std::map<std::string, std::optional<std::string>> values;  ///< of attributes; none: taken out
        std::optional<std::string> replacement;
        std::vector<std::string> children;
    };
    using Where = std::pair<std::int32_t, std::size_t>;  ///< file, offset
    using Changes = std::map<Where, ElementChange>;
    struct Thing {
        std::int32_t arrangement = -1;
        layout::Ref about;
        bool operator<(const Thing& other) const {
            return std::tuple(arrangement, about.kind, about.index) < std::tuple(other.arrangement, other.about.kind, other.about.index);
        }
    };

    class Assembly;

    Where where(const layout::Place& element) const;
    double share_of(const Thing& thing) const;
    double share_below(const Thing& thing) const;
    std::int32_t base_of(std::int32_t arrangement) const;
    void apply_settings(Changes& changes) const;

    const ReadResult* read_;
    Changes changes_;
    std::map<Thing, double> shares_;  ///< of valves, pumps and filters, per arrangement
};

/// A share as a person writes it, "41.27 %", in as few digits as read back to it within 1e-9 of its value.
std::string share_text(double share);

/// A text as it may stand between `quote`s.
std::string escaped_value(std::string_view text, char quote = '"');

}  // namespace ebb::netfiles
