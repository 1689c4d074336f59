#pragma once
// Friction of eight full pipes at once, or of one pipe at eight flows: the laws of friction.cpp in the arithmetic of eight.h. For the sources that
// eight.h is for.
//
// Colebrook's equation is solved by the series step of friction.cpp, with everything multiplied by |Q|, which leaves one division for a step and its
// logarithm together, and one for loss and slope. With z = |Q|, Y = y z = (k/3.7D) z + s X, s = 2.51/(Re per Q), P = (2/ln 10) s:
//     ln y = ln(Y/z) = k ln 2 + 2 artanh((Y - 2^k z)/(Y + 2^k z)),  k from the difference of the bits, |artanh's argument| <= 0.2003,
//     q = P/(Y + P),  s' = -g s/(Y + P)  (called s in friction.cpp),  Newton's step -g Y/(Y + P),
// artanh by Chebyshev interpolation of degree 7 in its square (6e-17). With T = L/(D 2 g A^2), A = X^2, D = Y + P and a local loss c Q|Q|:
//     h = Q|Q| (T/A + c),   1/(dh/dQ) = A D/(2 z (T Y + c A D)).
//
// A step of |s'| < 0.004 ends at rounding error (friction.cpp); `sure` says in which lanes the last one was. Exact: steps until all are sure. Not
// exact: one step, two after a start that proves far off, of two terms less (which leaves q/4 s'^4 of y: 3e-4 of it at most, and rounding below
// 2e-4), for iterations around it that go on until it is sure. Laminar and joining laws as in friction.cpp. Lanes do not look at one another: the
// digits of a lane depend on that lane alone.

#include "solver/physics/eight_math.h"

namespace ebb::physics {
namespace {

/// The numbers of a pipe in the order in which they are stored: plain doubles, so that they can be made elsewhere.
enum PipeNumber : int {
    kRoughShare,       ///< k/(3.7 D)
    kSmooth,           ///< 2.51 over Re per flow
    kPull,             ///< 2/ln 10 times that
    kTurbulent,        ///< h = f * this * Q|Q|
    kSlowFlow,         ///< flow at Re 4000
    kReynoldsPerFlow,  ///< Re = this * |Q|
    kLaminar,          ///< h = this * Q up to Re 2000
    kJoin0,            ///< the joining cubic in t = (Re - 2000)/2000
    kJoin1,
    kJoin2,
    kJoin3,
    kPipeNumbers = 12,  ///< one is spare
};

/// One pipe for all lanes: its numbers one after another.
struct SharedPipe {
    const double* number;
    EBB_EIGHT Eight operator[](int which) const { return every(number[which]); }
};

/// A pipe for each lane: eight of the first number, eight of the second, ...
struct OwnPipes {
    const double* number;
    EBB_EIGHT Eight operator[](int which) const { return load(number + 8 * which); }
};

/// A loss and one over its slope.
struct EightLoss {
    Eight loss_m, inverse_slope;
    Which sure;  ///< solved to rounding
};

constexpr double kTwoOverLn10Eight = 0.868588963806503655302;

/// ln x to 6e-4, as rough_ln() of friction.cpp.
EBB_EIGHT Eight rough_ln_eight(Eight x) {
    const Which bits = as_bits(x);
    const Eight exponent = to_doubles(take_bits(shift_right(bits, 52), every_bits(1023)));
    const Eight m = as_doubles((bits & every_bits(0x000f'ffff'ffff'ffffLL)) | every_bits(0x3ff0'0000'0000'0000LL));
    return every(kLn2) * exponent + ((every(0.10584377) * m - every(0.71172693)) * m + every(2.08717855)) * m - every(1.48072324);
}

template <typename Pipe>
EBB_EIGHT Eight colebrook_start_eight(Pipe pipe, Eight size) {
    const Eight reynolds = size * pipe[kReynoldsPerFlow];
    const Eight guess = greater_of(every(0.9 * kTwoOverLn10Eight) * rough_ln_eight(reynolds * every(1.0 / 6.9)), every(1.0));
    return every(-kTwoOverLn10Eight) * rough_ln_eight(pipe[kRoughShare] + pipe[kSmooth] / size * guess);
}

/// One step of the series.
struct SeriesStep {
    Eight move, share;  ///< what X moves by; s', by which share y moves
};
template <bool kExact, typename Pipe>
EBB_EIGHT SeriesStep colebrook_step_eight(Pipe pipe, Eight size, Eight X) {
    const Eight pull = pipe[kPull], smooth = pipe[kSmooth];
    const Eight Y = pipe[kRoughShare] * size + smooth * X, D = Y + pull;
    constexpr long long kBias = (1024LL << 52U) + (1LL << 51U);
    const Which k = shift_right(add_bits(take_bits(as_bits(Y), as_bits(size)), every_bits(kBias)), 52);
    const Eight near = as_doubles(take_bits(add_bits(as_bits(size), shift_left(k, 52)), every_bits(1024LL << 52U)));  // 2^k |Q|
    const Eight exponent = as_doubles(k | every_bits(0x4330'0000'0000'0000LL)) - every(4503599627370496.0 + 1024.0);
    const Eight sum = Y + near, inverse = every(1.0) / (sum * D), inverse_D = sum * inverse;
    const Eight r = (Y - near) * D * inverse, z = r * r, z2 = z * z;
    const Eight low = (every(2.0) + every(0.6666666666667584) * z) + (every(0.399999999952224) + every(0.28571429517186914) * z) * z2;
    const Eight high =
        (every(0.22222130456872752) + every(0.18186638534914787) * z) + (every(0.15245163774292927) + every(0.15403791448885612) * z) * z2;
    const Eight ln_y = exponent * every(kLn2) + r * (low + high * (z2 * z2));
    const Eight residual = X + every(kTwoOverLn10Eight) * ln_y;
    const Eight q = pull * inverse_D, over_D = -(residual * inverse_D), s = over_D * smooth;
    const Eight a3 = q * (every(0.5) * q - every(1.0 / 3.0));
    Eight bend = every(0.5) * q + s * a3;
    if constexpr (kExact) {
        const Eight a4 = q * ((every(0.625) * q - every(5.0 / 6.0)) * q + every(0.25));
        const Eight a5 = q * (((every(0.875) * q - every(1.75)) * q + every(13.0 / 12.0)) * q - every(0.2));
        bend = bend + s * s * (a4 + s * a5);
    }
    return {over_D * Y * (every(1.0) + s * bend), s};
}

/// X = 1/sqrt(f) from the start `X` (0: none), and in which lanes it is sure. `size` from Re 4000 on.
template <bool kExact, typename Pipe>
EBB_EIGHT Which colebrook_eight(Pipe pipe, Eight size, Eight& X) {
    constexpr double kLastStep = kExact ? 4e-3 : 2e-4, kFarOff = 0.3;
    constexpr int kMostSteps = 20;
    const Which begun = X > every(0.0);
    // a step from any number where there is none: from 0 in a smooth pipe it would be infinite times nothing
    SeriesStep step = colebrook_step_eight<kExact>(pipe, size, choose(begun, X, every(1.0)));
    Which sure = size_of(step.share) < every(kLastStep);
    const Which trusted = (size_of(step.share) < every(kFarOff)) & begun;
    X = choose(trusted, X + step.move, X);
    sure = sure & trusted;
    if (to_mask(trusted) != 0xffU) {
        const Eight start = colebrook_start_eight(pipe, size);
        step = colebrook_step_eight<kExact>(pipe, size, start);
        X = choose(trusted, X, start + step.move);
        sure = sure | (~trusted & (size_of(step.share) < every(kLastStep)));
    }
    if constexpr (kExact)
        for (int i = 0; i < kMostSteps && to_mask(sure) != 0xffU; ++i) {
            step = colebrook_step_eight<kExact>(pipe, size, X);
            X = choose(sure, X, X + step.move);
            sure = sure | (size_of(step.share) < every(kLastStep));
        }
    return sure;
}

/// Friction and a local loss c Q|Q| together. `X`: where Colebrook's iteration starts (0: none), renewed. Only what it says of the lanes of `asks`
/// is meant.
template <bool kExact, typename Pipe>
EBB_EIGHT EightLoss darcy_loss_eight(Pipe pipe, Eight flow, Eight local_coefficient, Eight& X, unsigned asks = 0xffU) {
    const Eight size = size_of(flow), slow_flow = pipe[kSlowFlow];
    const Eight z = greater_of(size, slow_flow);
    EightLoss result;
    result.sure = colebrook_eight<kExact>(pipe, z, X);
    const Eight Y = pipe[kRoughShare] * z + pipe[kSmooth] * X, D = Y + pipe[kPull], A = X * X;
    const Eight turbulent = pipe[kTurbulent];
    const Eight AD = A * D, B = every(2.0) * z * (turbulent * Y + local_coefficient * AD), inverse = every(1.0) / (A * B);
    result.loss_m = flow * size * (turbulent * (B * inverse) + local_coefficient);
    result.inverse_slope = AD * A * inverse;
    const Which slow = size < slow_flow;
    if ((to_mask(slow) & asks) != 0) {
        const Eight laminar = pipe[kLaminar], per_flow = pipe[kReynoldsPerFlow], t = (size * per_flow - every(2000.0)) * every(1.0 / 2000.0);
        const Eight c1 = pipe[kJoin1], c2 = pipe[kJoin2], c3 = pipe[kJoin3];
        const Which joining = t > every(0.0);
        const Eight loss = choose(joining, with_sign(((c3 * t + c2) * t + c1) * t + pipe[kJoin0], flow), laminar * flow);
        const Eight slope = choose(joining, ((every(3.0) * c3 * t + every(2.0) * c2) * t + c1) * per_flow * every(1.0 / 2000.0), laminar);
        result.loss_m = choose(slow, loss + local_coefficient * flow * size, result.loss_m);
        result.inverse_slope = choose(slow, every(1.0) / (slope + every(2.0) * local_coefficient * size), result.inverse_slope);
        result.sure = result.sure | slow;
    }
    return result;
}

}  // namespace
}  // namespace ebb::physics
