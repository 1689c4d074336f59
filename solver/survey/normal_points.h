#pragma once
// Points that fill a space of independent standard normal variables evenly: what is asked at them is asked of every kind of luck there is.
//
// The points are those of Sobol (I. M. Sobol, USSR Comp. Math. 7 (1967) 86; direction numbers of S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008)
// 2635), scrambled (A. B. Owen, J. Complexity 14 (1998) 466, by the hash of S. Laine and T. Karras as in B. Burley, J. Computer Graphics Techniques 9
// (2020) 4): bits of every coordinate are turned over, each by what stands above it, which leaves the even filling even and no point at a corner.
// Coordinates become normal by the inverse of the normal distribution. Means of smooth functions of few variables so come nearer to the truth almost
// as 1/N, where points by chance do so as 1/sqrt(N); 2^k points fill best. Beyond the dimensions there are direction numbers for, coordinates are by
// chance, the same in every run.
//
// Storage: one number for each point and dimension.

#include <cstddef>
#include <span>
#include <vector>

namespace ebb::survey {

class NormalPoints {
public:
    NormalPoints(std::size_t points, std::size_t dimensions);

    std::size_t points() const { return points_; }
    std::size_t dimensions() const { return dimensions_; }
    std::span<const double> at(std::size_t point) const { return std::span(z_).subspan(point * dimensions_, dimensions_); }

private:
    std::size_t points_, dimensions_;
    std::vector<double> z_;
};

}  // namespace ebb::survey
