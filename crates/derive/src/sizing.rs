//! The formulas of sizing, each on its own: conductor, drop, fuse, run time, bank, inverter input, fault, surge.
//! Never: reads a project. The quick answers of the command line and the derivation of a system call the same ones.
//! Start at [`conductor`] and [`fuse_rating`].

use model::{Because, Inputs, Origin};
use quantity::{
    AmpHours, Amps, Celsius, Fraction, Gauge, Hours, Kelvins, Metres, Ohms, PercentPerKelvin,
    SquareAmpSeconds, Volts, WattHours, Watts, Written, math,
};
use reference::{Cited, FuseFamily, Insulation, OutOfTable, Place, Reference, RuleSet};

/// What a conductor must do.
#[derive(Clone, Debug)]
pub struct ConductorAsk {
    /// Rule set.
    pub rules: RuleSet,
    /// Current that it must carry all day.
    pub current: Amps,
    /// Protective device ahead of it, where one is chosen already.
    pub protection: Option<Amps>,
    /// Nominal voltage of the circuit.
    pub voltage: Volts,
    /// Current at which the drop is counted.
    pub drop_current: Amps,
    /// Drop allowed, of the nominal voltage.
    pub drop_limit: Fraction,
    /// Length, one way; the drop counts it twice.
    pub length: Metres,
    /// Insulation rating.
    pub insulation: Insulation,
    /// Whether the strands are tinned.
    pub tinned: bool,
    /// Where it runs.
    pub place: Place,
    /// Smallest size to consider.
    pub smallest: Gauge,
    /// Largest size that the terminals take.
    pub largest: Option<Gauge>,
    /// Heat that the device ahead of it lets through on a short circuit; see [`let_through`].
    pub withstand: SquareAmpSeconds,
}

/// A conductor that does what was asked.
#[derive(Clone, Debug)]
pub struct ConductorChoice {
    /// Its size.
    pub gauge: Gauge,
    /// What it may carry there.
    pub ampacity: Cited<Amps>,
    /// Volts lost out and back.
    pub drop: Volts,
    /// Temperature of the metal at that current.
    pub temperature: Celsius,
    /// Why the next smaller size will not do; empty for the smallest.
    pub smaller_fails: String,
}

/// Why no conductor does.
#[derive(Clone, Debug)]
pub struct NoConductor {
    /// What would be needed.
    pub need: String,
}

/// Looks ampacities up; `derive` puts a store behind it, since places repeat.
pub type AmpacityLookup<'f> = dyn FnMut(Gauge) -> Result<Cited<Amps>, OutOfTable> + 'f;

/// The smallest conductor that carries the current, keeps the drop, and is protected by the device ahead of it.
pub fn conductor(ask: &ConductorAsk) -> Result<ConductorChoice, NoConductor> {
    let reference = Reference::standard();
    conductor_with(ask, &mut |gauge| reference.ampacity(ask.rules, gauge, ask.insulation, &ask.place))
}

/// [`conductor`] with ampacities from `ampacity`.
pub fn conductor_with(
    ask: &ConductorAsk,
    ampacity: &mut AmpacityLookup<'_>,
) -> Result<ConductorChoice, NoConductor> {
    let reference = Reference::standard();
    let mut smaller_fails = String::new();
    for &gauge in reference.gauges(ask.rules) {
        if gauge < ask.smallest {
            continue;
        }
        if let Some(largest) = ask.largest
            && gauge > largest
        {
            let because =
                if smaller_fails.is_empty() { String::new() } else { format!(" ({smaller_fails})") };
            return Err(NoConductor {
                need: format!(
                    "a terminal that takes more than {}: {}{because}",
                    largest.show(),
                    gauge.show()
                ),
            });
        }
        match conductor_fails(ask, gauge, ampacity) {
            Err(fault) => smaller_fails = fault,
            Ok((ampacity, drop, temperature)) => {
                return Ok(ConductorChoice { gauge, ampacity, drop, temperature, smaller_fails });
            }
        }
    }
    Err(NoConductor { need: format!("a conductor beyond the tables, or two in parallel: {smaller_fails}") })
}

/// Tries one size: its ampacity, drop and temperature, or why it will not do.
pub fn conductor_fails(
    ask: &ConductorAsk,
    gauge: Gauge,
    ampacity: &mut AmpacityLookup<'_>,
) -> Result<(Cited<Amps>, Volts, Celsius), String> {
    let reference = Reference::standard();
    let name = || gauge.show();
    let ampacity = ampacity(gauge).map_err(|error| error.to_string())?;
    if ampacity.value < ask.current {
        return Err(format!("{} carries only {} there, {} needed", name(), ampacity.value, ask.current));
    }
    if let Some(protection) = ask.protection {
        let most = reference.max_protection(ask.rules, ask.place.system, ampacity.value);
        if most.value < protection {
            return Err(format!(
                "{} may have at most {} ahead of it, not {}",
                name(),
                most.value,
                protection
            ));
        }
    }
    let k = reference.adiabatic_k(ask.insulation, false).value;
    let stands = SquareAmpSeconds::new((k * gauge.area().get()).powi(2));
    if stands < ask.withstand {
        return Err(format!(
            "{} stands {stands} on a short circuit, {} pass before the fuse clears",
            name(),
            ask.withstand
        ));
    }
    let temperature =
        working_temperature(ask.place.ambient, ask.insulation, ask.drop_current, ampacity.value);
    let resistance =
        loop_resistance(gauge, ask.tinned, ask.length, temperature).map_err(|error| error.to_string())?;
    let drop = ask.drop_current * resistance;
    let allowed = ask.drop_limit * ask.voltage;
    if drop > allowed {
        return Err(format!(
            "{} loses {} ({:.1} %), {} allowed",
            name(),
            drop,
            100.0 * (drop / ask.voltage),
            allowed
        ));
    }
    Ok((ampacity, drop, temperature))
}

/// Longest short circuit for which no heat is taken to leave the conductor [s].
const LONGEST_SHORT: f64 = 5.0;

/// Most heat `I² t` that a fuse lets through on a short circuit that it clears within 5 s, over its whole band.
///
/// The adiabatic equation `(k S)² >= I² t` holds up to 5 s (IEC 60364-4-43, 434.5.2); slower clearing is overload, which the
/// ampacity covers. Returns zero where the band is not known.
pub fn let_through(family: &FuseFamily, rating: Amps) -> SquareAmpSeconds {
    let bands: Vec<(f64, f64)> =
        family.gates.iter().filter_map(|gate| Some((gate.multiple, gate.max_s?))).collect();
    let heat =
        |multiple: f64, seconds: f64| SquareAmpSeconds::new((rating.get() * multiple).powi(2) * seconds);
    let at_gates = bands.iter().filter(|(_, seconds)| *seconds <= LONGEST_SHORT).map(|(m, s)| heat(*m, *s));
    // Where the band crosses 5 s between two gates; it is straight in log-log.
    let crossing = bands.windows(2).filter_map(|pair| {
        let [(m0, s0), (m1, s1)] = pair else { return None };
        (*s0 > LONGEST_SHORT && *s1 < LONGEST_SHORT).then(|| {
            let share = (math::ln(LONGEST_SHORT) - math::ln(*s0)) / (math::ln(*s1) - math::ln(*s0));
            heat(math::exp(math::ln(*m0) + share * (math::ln(*m1) - math::ln(*m0))), LONGEST_SHORT)
        })
    });
    at_gates.chain(crossing).fold(SquareAmpSeconds::zero(), SquareAmpSeconds::max)
}

/// Temperature of a conductor's metal at a steady current: the rise goes with the square of the current and reaches
/// the insulation's rating at the ampacity [common practice from the heat balance behind NEC 310.15(B)].
///
/// - `ambient`, `insulation`: where it is; `current` >= 0; `ampacity` > 0 in that ambient. Returns at most the rating.
pub fn working_temperature(
    ambient: Celsius,
    insulation: Insulation,
    current: Amps,
    ampacity: Amps,
) -> Celsius {
    let rating = insulation.celsius();
    if ampacity.get() <= 0.0 {
        return rating;
    }
    let share = (current.abs() / ampacity).min(1.0);
    let rise = (rating - ambient).get().max(0.0) * share * share;
    (ambient + Kelvins::new(rise)).min(rating.max(ambient))
}

/// Resistance out and back of a run: `R = 2 L r(T)`.
pub fn loop_resistance(
    gauge: Gauge,
    tinned: bool,
    length_one_way: Metres,
    metal: Celsius,
) -> Result<Ohms, OutOfTable> {
    let per_km = Reference::standard().resistance(gauge, tinned, metal.max(Celsius::new(-40.0)))?;
    Ok(per_km.value * (length_one_way * 2.0))
}

/// Volts lost out and back at a steady current, `ΔV = I · 2 L · r(T)`, with its reason.
pub fn drop(
    current: Amps,
    gauge: Gauge,
    tinned: bool,
    length_one_way: Metres,
    metal: Celsius,
) -> Result<(Volts, Because), OutOfTable> {
    let per_km = Reference::standard().resistance(gauge, tinned, metal)?;
    let resistance = per_km.value * (length_one_way * 2.0);
    let drop = current * resistance;
    let because = Inputs::new()
        .with("resistance", format!("{} Ω/km", round(per_km.value.get(), 4)), Origin::Table(per_km.cite))
        .because(
            drop,
            format!(
                "{current} x 2 x {length_one_way} x {} Ω/km = {drop}; {} lost as heat",
                round(per_km.value.get(), 4),
                current * drop
            ),
        );
    Ok((drop, because))
}

/// Smallest rating of `ratings` that carries the load: `>= I · factor`.
pub fn fuse_rating(ratings: &[Amps], least: Amps) -> Option<Amps> {
    // A hair of slack, so that 80 A x 1.25 = 100 A takes the 100 A fuse in spite of rounding.
    ratings.iter().copied().find(|rating| *rating >= least * (1.0 - 1e-9))
}

/// How long a start lasts, against which a fuse must hold [s]. Common practice, no source: motors are up to speed within it.
const START_SECONDS: f64 = 0.3;

/// Smallest rating of a family that carries the load and does not open while it starts.
///
/// - `least`: steady current times its factor; `start`: current for some tenths of a second.
pub fn fuse_rating_for(family: &FuseFamily, least: Amps, start: Amps) -> Option<Amps> {
    let first = fuse_rating(&family.ratings, least)?;
    family.ratings.iter().copied().filter(|rating| *rating >= first).find(|rating| {
        family.clearing_time(*rating, start).is_none_or(|(earliest, _)| earliest >= START_SECONDS)
    })
}

/// Whether a rating is so much more than the load asks that it protects little.
pub fn is_coarse(rating: Amps, least: Amps, start: Amps) -> bool {
    rating > least.max(start / 1.5).max(Amps::new(3.0)) * 2.0
}

/// Input current of an inverter: `I = P / (η V)`.
pub fn inverter_current(power: Watts, efficiency: Fraction, input: Volts) -> Amps {
    power / efficiency.get() / input
}

/// Time to empty a battery at a steady current by Peukert's law in the rated form `t = H (C / (I H))^k`
/// (the form `C / I^k` is right only where `C` is the capacity at 1 A, and is not used).
///
/// - `capacity` at the rate of `rated` hours; `current` > 0; `exponent` >= 1.
pub fn run_time(capacity: AmpHours, rated: Hours, current: Amps, exponent: f64) -> Hours {
    let ratio = capacity / (current * rated);
    rated * math::powf(ratio, exponent)
}

/// Capacity for a daily need: `C = E d / (V · usable)`, times a temperature multiplier for lead-acid.
pub fn bank_capacity(
    need_per_day: WattHours,
    days: f64,
    voltage: Volts,
    usable: Fraction,
    multiplier: f64,
) -> AmpHours {
    need_per_day * (days * multiplier / usable.get()) / voltage
}

/// Prospective fault current behind a source and a loop: `I = V / (R_source + R_loop)`.
pub fn fault_current(voltage: Volts, source: Ohms, loop_: Ohms) -> Amps {
    voltage / (source + loop_)
}

/// Open-circuit voltage of a string at the coldest: `n · Voc · (1 + β (T - 25 °C))`.
pub fn string_voltage(
    open_voltage: Volts,
    coefficient: PercentPerKelvin,
    series: u32,
    coldest: Celsius,
) -> Volts {
    let change = coefficient.get() / 100.0 * (coldest - Celsius::new(25.0)).get();
    open_voltage * f64::from(series) * (1.0 + change)
}

/// Smallest cross-section that stands a fault: `S = I √t / k` (IEC 60364-4-43).
pub fn withstand_area(fault: Amps, seconds: f64, k: f64) -> quantity::SquareMm {
    quantity::SquareMm::new(fault.get() * seconds.sqrt() / k)
}

/// A number rounded to some decimals, for showing.
pub fn round(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    (value * scale).round() / scale
}
