#pragma once
// Quantities as a person says them, in SI or US units: "12.4 l/min", "130 mm", "1 h 14 min". A value that is not known is "-".
// Numbers are rounded for reading; whoever needs every digit asks for JSON or CSV.

#include <string>

#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::cli {

class Speech {
public:
    explicit Speech(layout::UnitSystem units) : us_(units == layout::UnitSystem::us) {}

    layout::UnitSystem units() const { return us_ ? layout::UnitSystem::us : layout::UnitSystem::si; }

    std::string flow(double flow_m3_s) const;                            ///< l/min, m3/h when large; gpm
    std::string flow(double flow_m3_s, const settle::Band& band) const;  ///< "11-15 l/min" when the band is there
    std::string level(double level_m) const;                             ///< above the datum: m; ft and in
    std::string level(double level_m, const settle::Band& band) const;
    std::string height(double height_m) const;  ///< short lengths, depths, margins: mm; in
    std::string height(double height_m, const settle::Band& band) const;
    std::string bore(double bore_m) const;      ///< mm to a tenth; in to a thousandth
    std::string length(double length_m) const;  ///< m; ft
    std::string head(double head_m) const;      ///< m; ft of water
    std::string head(double head_m, const settle::Band& band) const;
    std::string volume(double volume_m3) const;  ///< l, m3 when large; gal
    std::string volume(double volume_m3, const settle::Band& band) const;
    std::string velocity(double velocity_m_s) const;
    std::string velocity(double velocity_m_s, const settle::Band& band) const;
    std::string power(double power_w) const;
    static std::string energy(double energy_j);                             ///< Wh, kWh
    static std::string duration(double seconds);                            ///< "11 min 40 s", "2 h 5 min", "3.2 days"
    static std::string duration(double seconds, const settle::Band& band);  ///< "54-69 min", "2.1-2.4 h"
    std::string roughness(double roughness_m) const;
    std::string temperature(double temperature_c) const;
    std::string load(double load_kg_m2) const;  ///< kg/m2; lb/ft2

    static std::string share(double share);  ///< "93 %"
    static std::string plain(double value);  ///< three significant digits

    /// "about 0.39 m": a figure that is the middle of a band whose ends are not known. Not known stays "-".
    static std::string about(const std::string& said, bool is_about);

private:
    bool us_;
};

}  // namespace ebb::cli
