//! Elementary functions that give the same bits on every machine.
//! Never: calls the platform's own mathematics library, whose last digit differs from one system to the next.
//! Start at any function; `f64::sqrt` and `+ - * /` are fixed by IEEE 754 and need no wrapper.

/// e to the power of `x`.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm; not a number below zero, minus infinity at zero.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// `base` to the power of `exponent`.
pub fn powf(base: f64, exponent: f64) -> f64 {
    libm::pow(base, exponent)
}

/// Sine of an angle in radians.
pub fn sin(radians: f64) -> f64 {
    libm::sin(radians)
}

/// Cosine of an angle in radians.
pub fn cos(radians: f64) -> f64 {
    libm::cos(radians)
}
