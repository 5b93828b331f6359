//! Inrush: the current into a discharged capacitor bank when its circuit closes, and how a pre-charge
//! resistor tames it.
//! Never: follows saturating inductors or changing loads; one loop of one resistance, inductance and capacitance, in closed form.
//! Start at [`inrush`] and [`precharge`].

use quantity::{Amps, Farads, Henries, Joules, Ohms, Seconds, Volts, Watts};

/// How the loop settles.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Damping {
    /// No inductance: the current starts at its peak.
    None,
    /// `R > 2·√(L/C)`: no swing.
    Over,
    /// `R = 2·√(L/C)`.
    Critical,
    /// `R < 2·√(L/C)`: the voltage swings past that of the source.
    Under,
}

/// The closing of a source onto a capacitor through a resistance and an inductance.
#[derive(Clone, Copy, PartialEq, Debug)]
#[non_exhaustive]
pub struct Inrush {
    /// How the loop settles.
    pub damping: Damping,
    /// Largest current [A]; negative if the capacitor stood above the source.
    pub amps_peak: Amps,
    /// When it flows, after closing [s].
    pub time_of_peak: Seconds,
    /// Furthest voltage of the capacitor [V]: past the source's where it swings, else the source's.
    pub volts_furthest: Volts,
    volts: f64,
    rise: f64,
    /// `R/2L` [1/s], and the root of `|α² − 1/LC|` [1/s]; for no inductance `1/RC` and zero.
    alpha: f64,
    beta: f64,
    /// The slower root `α − β` of the over-damped loop [1/s], taken as `ω0²/(α+β)` so that a small inductance
    /// keeps its digits.
    slow: f64,
    ohms: f64,
    henries: f64,
}

/// Inrush of a series loop: `volts` of the source closed onto `farads` that stand at `volts_before`, through
/// `ohms` > 0 and `henries` >= 0. Returns `None` where a value is not finite, or resistance or capacitance is
/// not above zero.
///
/// With `α = R/2L`, `ω0² = 1/LC` and `ΔV` the voltage closed onto: over-damped `i = ΔV/(2Lβ)·(e^(−(α−β)t) −
/// e^(−(α+β)t))`, `β = √(α²−ω0²)`; critical `i = ΔV/L·t·e^(−αt)`; under-damped `i = ΔV/(Lω)·e^(−αt)·sin ωt`,
/// `ω = √(ω0²−α²)`; no inductance `i = ΔV/R·e^(−t/RC)`. Textbook results of the series RLC circuit; checked
/// against a circuit simulator in `tests/`.
pub fn inrush(
    volts: Volts,
    volts_before: Volts,
    ohms: Ohms,
    henries: Henries,
    farads: Farads,
) -> Option<Inrush> {
    let (v, r, l, c) = (volts.get(), ohms.get(), henries.get(), farads.get());
    let rise = v - volts_before.get();
    if !(rise.is_finite() && v.is_finite() && r > 0.0 && c > 0.0 && l >= 0.0)
        || !(r.is_finite() && c.is_finite() && l.is_finite())
    {
        return None;
    }
    let mut result = Inrush {
        damping: Damping::None,
        amps_peak: Amps::new(rise / r),
        time_of_peak: Seconds::zero(),
        volts_furthest: volts,
        volts: v,
        rise,
        alpha: 1.0 / (r * c),
        beta: 0.0,
        slow: 0.0,
        ohms: r,
        henries: l,
    };
    if l == 0.0 {
        return Some(result);
    }
    let (alpha, natural) = (r / (2.0 * l), 1.0 / (l * c));
    let gap = alpha * alpha - natural;
    result.alpha = alpha;
    result.beta = gap.abs().sqrt();
    let beta = result.beta;
    result.slow = natural / (alpha + beta);
    // Within this band the critical form is right to 1e-10 and the others lose digits.
    let (damping, time) = if gap.abs() <= 1e-10 * natural {
        (Damping::Critical, 1.0 / alpha)
    } else if gap > 0.0 {
        (Damping::Over, ((alpha + beta) / result.slow).ln() / (2.0 * beta))
    } else {
        result.volts_furthest = Volts::new(v + rise * (-alpha * core::f64::consts::PI / beta).exp());
        (Damping::Under, beta.atan2(alpha) / beta)
    };
    result.damping = damping;
    result.time_of_peak = Seconds::new(time);
    result.amps_peak = result.amps_at(result.time_of_peak);
    Some(result)
}

impl Inrush {
    /// Current at a time after closing [A].
    pub fn amps_at(&self, time: Seconds) -> Amps {
        let (t, a, b) = (time.get().max(0.0), self.alpha, self.beta);
        let slope = self.rise / self.henries;
        Amps::new(match self.damping {
            Damping::None => self.rise / self.ohms * (-a * t).exp(),
            Damping::Over => slope / (2.0 * b) * ((-self.slow * t).exp() - (-(a + b) * t).exp()),
            Damping::Critical => slope * t * (-a * t).exp(),
            Damping::Under => slope / b * (-a * t).exp() * (b * t).sin(),
        })
    }

    /// Voltage of the capacitor at a time after closing [V].
    pub fn volts_at(&self, time: Seconds) -> Volts {
        let (t, a, b) = (time.get().max(0.0), self.alpha, self.beta);
        let left = match self.damping {
            Damping::None => (-a * t).exp(),
            Damping::Over => {
                let (slow, fast) = (self.slow, a + b);
                (fast * (-slow * t).exp() - slow * (-fast * t).exp()) / (2.0 * b)
            }
            Damping::Critical => (1.0 + a * t) * (-a * t).exp(),
            Damping::Under => (-a * t).exp() * ((b * t).cos() + a / b * (b * t).sin()),
        };
        Volts::new(self.volts - self.rise * left)
    }
}

/// Charging a capacitor bank through a pre-charge resistor.
#[derive(Clone, Copy, PartialEq, Debug)]
#[non_exhaustive]
pub struct Precharge {
    /// Current at the start [A].
    pub amps_peak: Amps,
    /// Time until the bank stands at 95 % of the source [s]; zero if it already does.
    pub time_to_95_percent: Seconds,
    /// Time until the bank stands at 99 % of the source [s]; zero if it already does.
    pub time_to_99_percent: Seconds,
    /// Energy that the pre-charge resistor turns to heat over a full charge [J].
    pub energy_in_resistor: Joules,
    /// Power in the pre-charge resistor at the start [W].
    pub power_peak: Watts,
}

/// Charging `farads` from `volts_before` to `volts` through a pre-charge resistor in series with the loop's
/// own resistance. The loop's inductance does not matter beside a pre-charge resistor. Returns `None` where a
/// value is not finite, `volts` is not above zero, or resistance or capacitance is not above zero.
///
/// `t = τ·ln(ΔV/(V − V(t)))`, `τ = R·C`; energy `C·ΔV²/2`, shared by the resistances in proportion.
pub fn precharge(
    volts: Volts,
    volts_before: Volts,
    resistor: Ohms,
    loop_ohms: Ohms,
    farads: Farads,
) -> Option<Precharge> {
    let (v, rp, rl, c) = (volts.get(), resistor.get(), loop_ohms.get(), farads.get());
    let rise = v - volts_before.get();
    if !(v > 0.0 && v.is_finite() && rise.is_finite() && rp > 0.0 && rl >= 0.0 && c > 0.0)
        || !(rp.is_finite() && rl.is_finite() && c.is_finite())
    {
        return None;
    }
    let r = rp + rl;
    let until = |left: f64| Seconds::new((r * c * (rise / (left * v)).ln()).max(0.0));
    // A bank at or above the source has nothing left to wait for; the logarithm of a negative number is no
    // time.
    let until = |left: f64| if rise > 0.0 { until(left) } else { Seconds::zero() };
    let amps = rise / r;
    Some(Precharge {
        amps_peak: Amps::new(amps),
        time_to_95_percent: until(0.05),
        time_to_99_percent: until(0.01),
        energy_in_resistor: Joules::new(0.5 * c * rise * rise * rp / r),
        power_peak: Watts::new(amps * amps * rp),
    })
}
