//! Elementary functions as plain arithmetic, which the compiler can do for several hours side by side and which gives the same bits on
//! every machine.
//! Never: branches, looks into a table, or serves arguments beyond those named; elsewhere `quantity::math` does.
//! Start at any function; each says how near it comes. The polynomials are Chebyshev series turned into powers.

use core::f64::consts::{FRAC_PI_2, LN_2, LOG2_E, PI};

/// Added to a number it leaves the nearest whole one in the low bits.
const ROUND: f64 = 1.5 * (1_u64 << 52) as f64;

/// A sum of powers of `x`, given from the lowest up; in four parts, since one after the other would wait for every product.
#[inline(always)]
fn polynomial<const N: usize>(powers: &[f64; N], x: f64) -> f64 {
    let square = x * x;
    let fourth = square * square;
    let mut parts = [0.0; 4];
    for (at, power) in powers.iter().enumerate().rev() {
        let part = &mut parts[at % 4];
        *part = if at + 4 < N { *part * fourth + power } else { *power };
    }
    (parts[0] + x * parts[1]) + square * (parts[2] + x * parts[3])
}

/// The angle of a cosine [radians]; −1 to 1, within 1e-11.
#[inline(always)]
pub(super) fn acos(cos: f64) -> f64 {
    // acos(x) / √(1 − x) on 0 to 1.
    const POWERS: [f64; 13] = [
        1.5707963267930536,
        -0.21460183596148072,
        0.08904858538021372,
        -0.05079196157355739,
        0.0336710151534544,
        -0.024299697733549695,
        0.018317335803913013,
        -0.01372146589899785,
        0.009480397121224088,
        -0.005483067540917546,
        0.002368426704779268,
        -0.0006562090292572977,
        8.571315556764603e-05,
    ];
    let size = cos.abs();
    let angle = (1.0 - size).sqrt() * polynomial(&POWERS, size);
    if cos < 0.0 { PI - angle } else { angle }
}

/// The direction of a point [radians], −π to π, 0 along `x`; within 1e-10. At the origin 0.
#[inline(always)]
pub(super) fn atan2(y: f64, x: f64) -> f64 {
    // atan(√t) / √t on 0 to 1.
    const POWERS: [f64; 13] = [
        0.9999999999902911,
        -0.33333332995045095,
        0.1999998035348588,
        -0.14285262489534828,
        0.11105656166522848,
        -0.0905113714261688,
        0.07502231039457911,
        -0.06038547797419597,
        0.0439028600059828,
        -0.026271566982613882,
        0.011602319171652201,
        -0.003261484745889903,
        0.0004301646165549755,
    ];
    let (over, along) = (y.abs(), x.abs());
    let is_steep = over > along;
    let (low, high) = if is_steep { (along, over) } else { (over, along) };
    let tan = low / if high > 0.0 { high } else { 1.0 };
    let angle = tan * polynomial(&POWERS, tan * tan);
    let angle = if is_steep { FRAC_PI_2 - angle } else { angle };
    let angle = if x < 0.0 { PI - angle } else { angle };
    if y < 0.0 { -angle } else { angle }
}

/// Cosine of an angle [°]; −1e6 to 1e6, within 1e-9 there and 1e-14 within a few turns.
#[inline(always)]
pub(super) fn cos_deg(degrees: f64) -> f64 {
    // sin(2π √t) / √t on 0 to 1/16.
    const POWERS: [f64; 8] = [
        6.2831853071795845,
        -41.34170224039753,
        81.60524927548866,
        -76.70585968419958,
        42.05868974686512,
        -15.094501199946293,
        3.8173026174000992,
        -0.6921875775250048,
    ];
    let turns = degrees * (1.0 / 360.0);
    let part = turns - ((turns + ROUND) - ROUND);
    // cos(2πt) is sin(2π(1/4 − |t|)), the argument within a quarter of a turn.
    let from_quarter = 0.25 - part.abs();
    from_quarter * polynomial(&POWERS, from_quarter * from_quarter)
}

/// e to a power; −700 to 700, relative within 1e-13, near 0 within 1e-14. Outside as at the nearer end.
#[inline(always)]
pub(super) fn exp(x: f64) -> f64 {
    // Taylor's series: half of ln 2 to the power of 12 over 12! is below 1e-14.
    const POWERS: [f64; 12] = [
        1.0,
        1.0,
        1.0 / 2.0,
        1.0 / 6.0,
        1.0 / 24.0,
        1.0 / 120.0,
        1.0 / 720.0,
        1.0 / 5040.0,
        1.0 / 40320.0,
        1.0 / 362_880.0,
        1.0 / 3_628_800.0,
        1.0 / 39_916_800.0,
    ];
    let x = if x < -700.0 { -700.0 } else { x };
    let x = if x > 700.0 { 700.0 } else { x };
    let rounded = x * LOG2_E + ROUND;
    let rest = x - (rounded - ROUND) * LN_2;
    // The exponent of two, put where a number keeps it.
    polynomial(&POWERS, rest) * f64::from_bits((rounded.to_bits() << 52).wrapping_add(1.0_f64.to_bits()))
}

/// Natural logarithm of an ordinary number above 0; within 1e-13.
#[inline(always)]
pub(super) fn ln(x: f64) -> f64 {
    // 2 artanh(s) / s = 2 + 2/3 s² + ..., |s| below 0.1716 after the exponent is taken out.
    const POWERS: [f64; 8] =
        [2.0, 2.0 / 3.0, 2.0 / 5.0, 2.0 / 7.0, 2.0 / 9.0, 2.0 / 11.0, 2.0 / 13.0, 2.0 / 15.0];
    /// Half of the root of two: the mantissa lies between it and twice it.
    const LOWEST: u64 = core::f64::consts::FRAC_1_SQRT_2.to_bits();
    const MANTISSA: u64 = (1 << 52) - 1;
    let above = x.to_bits().wrapping_sub(LOWEST);
    let mantissa = f64::from_bits((above & MANTISSA).wrapping_add(LOWEST));
    // The exponent, 0 for 1/√2 to √2, as a number: written into the low bits of one that large.
    const BIAS: u64 = 1024;
    const LARGE: f64 = (1_u64 << 52) as f64;
    let exponent =
        f64::from_bits((above.wrapping_add(BIAS << 52) >> 52) | LARGE.to_bits()) - (LARGE + BIAS as f64);
    let s = (mantissa - 1.0) / (mantissa + 1.0);
    exponent * LN_2 + s * polynomial(&POWERS, s * s)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Largest difference of two functions over a span.
    fn worst(low: f64, high: f64, difference: impl Fn(f64) -> f64) -> f64 {
        (0..=20_000)
            .map(|step| difference(low + (high - low) * f64::from(step) / 20_000.0).abs())
            .fold(0.0, f64::max)
    }

    // Against the platform's own functions, which are right to the last digit or so.
    #[test]
    fn each_comes_as_near_as_it_says() {
        assert!(worst(-1.0, 1.0, |x| acos(x) - x.acos()) < 1e-11);
        assert!(
            worst(-7.0, 7.0, |angle| atan2(angle.sin(), angle.cos()) - angle.sin().atan2(angle.cos()))
                < 1e-10
        );
        assert!(worst(-400.0, 700.0, |degrees| cos_deg(degrees) - degrees.to_radians().cos()) < 1e-14);
        assert!(worst(-700.0, 700.0, |x| exp(x) / x.exp() - 1.0) < 1e-13);
        assert!(worst(-2.0, 2.0, |x| exp(x) / x.exp() - 1.0) < 1e-14);
        assert!(worst(0.01, 200.0, |x| ln(x) - x.ln()) < 1e-13);
        assert!(worst(-300.0, 300.0, |log| ln(log.exp()) - log) < 2e-13);
    }

    #[test]
    fn the_corners_are_met() {
        assert_eq!((acos(1.0), acos(-1.0)), (0.0, PI));
        assert_eq!((atan2(0.0, 0.0), atan2(0.0, 1.0), atan2(0.0, -1.0)), (0.0, 0.0, PI));
        assert_eq!((atan2(1.0, 0.0), atan2(-1.0, 0.0)), (FRAC_PI_2, -FRAC_PI_2));
        assert_eq!((exp(0.0), ln(1.0)), (1.0, 0.0));
    }
}
