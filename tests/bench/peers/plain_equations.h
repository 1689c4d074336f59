#pragma once
// The equations F(x) = 0 of a plain network with their exact Jacobian, written as a user of a general solver would write them with care: everything
// that does not change is computed once, the pattern is fixed, only the slopes are put in anew. The laws are written here a second time, on purpose:
// nothing of Ebbwright is used.
//
//     x = (flows in litres a second, heads in m): both near 1, so that no solver needs other scales
//     F = (h_l(Q_l) - H_from + H_to of every element, in m;   in - out - taken of every node, in litres a second)
//
// The Jacobian is symmetric ([D B; B^T 0] with D = dh/dQ, and B of +1 and -1), so that its arrays by columns are its arrays by rows as well.

#include <vector>

#include "plain_network.h"

namespace peers {

inline constexpr double kLitres = 1000.0;  ///< of a cubic metre

struct LossSlope {
    double loss_m = 0.0, slope_m_per_m3_s = 0.0;
};

class Equations {
public:
    explicit Equations(const PlainNetwork& network);

    int elements() const { return static_cast<int>(laws_.size()); }
    int nodes() const { return nodes_; }
    int size() const { return elements() + nodes_; }
    const std::vector<int>& column_start() const { return column_start_; }
    const std::vector<int>& row() const { return row_; }
    const std::vector<double>& pattern_values() const { return values_; }  ///< with nothing for the slopes

    std::vector<double> start() const;
    void residual(const double* x, double* f) const;
    /// Puts the slopes into values that hold pattern_values(); their places are column_start()[0 .. elements()-1].
    void put_slopes(const double* x, double* values) const;

    /// For the energy minimum: sum over the elements of the integral of h from 0 to Q and of the fixed heads' work, in m litres a second.
    double content(const double* x) const;
    void content_gradient(const double* x, double* gradient) const;

    struct Ends {
        int from, to;
    };
    const std::vector<Ends>& ends() const { return ends_; }
    double taken_l_s(int node) const { return taken_l_s_[static_cast<std::size_t>(node)]; }
    LossSlope law(std::size_t element, double flow_m3_s) const;

private:
    struct Law {
        char kind = 'p';
        // pipe
        double laminar = 0.0, reynolds_per_flow = 0.0, turbulent = 0.0, rough = 0.0, rough_power = 0.0, k_forward = 0.0, k_reverse = 0.0;
        double c0 = 0.0, c1 = 0.0, c2 = 0.0, c3 = 0.0;  ///< between Re 2000 and 4000, in t from 0 to 1
        double content_at_4000 = 0.0;
        // square
        double coefficient = 0.0, core = 0.0;
        // pump
        std::vector<double> x, y, s;
    };
    static Law pipe_law(const Element& element, double viscosity_m2_s);
    static Law pump_law(const Element& element);
    double integral(const Law& law, double flow_m3_s) const;

    int nodes_ = 0;
    std::vector<Law> laws_;
    std::vector<Ends> ends_;
    std::vector<double> start_l_s_, fixed_head_m_, taken_l_s_, fixed_drive_m_;
    std::vector<int> column_start_, row_;
    std::vector<double> values_;
    double start_head_m_ = 0.0;
    mutable std::vector<double> seen_x_, seen_slope_;  ///< of the last residual: the Jacobian is asked for at the same point
};

}  // namespace peers
