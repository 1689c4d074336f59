#pragma once
// Files that are part of the program: scripts and styles of the report, and the charting library that draws its plots. Put in by CMake.

#include <string_view>

namespace ebb::cli::assets {

struct Asset {
    std::string_view text;
    std::string_view sha256;  ///< in hexadecimal
};

Asset d3_js();       ///< the charting library
Asset charts_js();   ///< what we draw with it; runs while the report is made, not in the page
Asset page_js();     ///< switches, numbers on hover: runs in the page
Asset profile_js();  ///< moves the water in the drawing; runs in the page
Asset page_css();
Asset profile_css();

}  // namespace ebb::cli::assets
