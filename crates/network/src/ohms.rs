//! The resistance of every conductor and device that lies in the way of the current.
//! Never: solves; temperatures come from zones and the circuit's steady current, not from a solved current.
//! Start at [`Conductors::of`] and [`through`].

use std::collections::BTreeMap;

use model::parts::Supply;
use model::{Conductor, Pole, Spec, System, ZoneKind};
use quantity::{Amps, Celsius, Gauge, Ohms, OhmsPerKm};
use reference::{Insulation, Place, Reference, SystemVoltage};

/// A link inside an assembly: a stud to its fuse. Typical, from memory.
const INTERNAL: f64 = 20e-6;
/// One crimped lug with its bolted joint, sound and clean: 10 to 20 µΩ are usual of heavy ones. From memory.
const LUG: f64 = 15e-6;
/// Least resistance of anything, so that a conductor of no length still stands in the matrix.
const LEAST: f64 = 1e-6;
/// A hand-operated disconnect, closed. Typical, from memory.
const DISCONNECT: f64 = 100e-6;
/// A relay's closed contact. Typical, from memory.
const RELAY: f64 = 300e-6;
/// What a breaker loses at its rating, as one voltage for all ratings. Typical, from memory.
const BREAKER_DROP: f64 = 0.08;
/// What stands for an open contact or a load switched off: the 14 µA through it are below any rounding shown.
pub(crate) const OPEN: f64 = 1e6;

/// Two points of the straight line that resistance follows with temperature: at 0 and at 100 °C.
type Line = (f64, f64);

/// Each conductor hot (hottest zone, circuit at its steady current) and cold (coldest zone, no current).
pub(crate) struct Conductors {
    /// The metal alone, hot.
    pub metal: Vec<Ohms>,
    /// Hot, with the lugs at both ends.
    pub hot: Vec<Ohms>,
    /// Cold, with perfect joints: for the largest fault.
    pub cold: Vec<Ohms>,
}

impl Conductors {
    pub(crate) fn of(system: &System) -> Self {
        let mut tables =
            Tables { reference: Reference::standard(), lines: BTreeMap::new(), ampacities: BTreeMap::new() };
        let count = system.conductors.len();
        let mut all = Self {
            metal: Vec::with_capacity(count),
            hot: Vec::with_capacity(count),
            cold: Vec::with_capacity(count),
        };
        for conductor in &system.conductors {
            if conductor.is_internal {
                for list in [&mut all.metal, &mut all.hot, &mut all.cold] {
                    list.push(Ohms::new(INTERNAL));
                }
                continue;
            }
            let zone = system.zones.get(conductor.zone);
            let (coldest, hottest) =
                zone.map_or((20.0, 30.0), |zone| (zone.coldest.get(), zone.hottest.get()));
            let working = tables.working(system, conductor, Celsius::new(hottest));
            let (at_0, at_100) = tables.line(conductor.gauge, conductor.tinned);
            let at = |celsius: f64| {
                let per_km = OhmsPerKm::new(at_0 + (at_100 - at_0) * celsius.clamp(-40.0, 200.0) / 100.0);
                let ohms = (per_km * conductor.length).get();
                if ohms.is_finite() { ohms.max(LEAST) } else { LEAST }
            };
            let hot = at(working.get());
            all.metal.push(Ohms::new(hot));
            all.hot.push(Ohms::new(hot + 2.0 * LUG));
            all.cold.push(Ohms::new(at(coldest.min(hottest))));
        }
        all
    }
}

/// What the tables said already: a system asks the same few questions thousands of times.
struct Tables {
    reference: &'static Reference,
    lines: BTreeMap<(Gauge, bool), Line>,
    ampacities: BTreeMap<(Gauge, Insulation, usize, u32, bool), Amps>,
}

impl Tables {
    /// Resistance of a size; of the nearest size in the tables where it is not one of them.
    fn line(&mut self, gauge: Gauge, tinned: bool) -> Line {
        let reference = self.reference;
        *self.lines.entry((gauge, tinned)).or_insert_with(|| {
            let at = |celsius: f64| {
                reference.resistance(gauge, tinned, Celsius::new(celsius)).map_or_else(
                    // By the area: 17.24 Ω·mm²/km of annealed copper at 20 °C (IEC 60028).
                    |_| 17.24 / gauge.area().get().max(0.01) * (234.5 + celsius) / 254.5,
                    |cited| cited.value.get(),
                )
            };
            (at(0.0), at(100.0))
        })
    }

    /// Temperature of the metal at the circuit's steady current; the insulation's rating where no table tells the ampacity.
    fn working(&mut self, system: &System, conductor: &Conductor, hottest: Celsius) -> Celsius {
        let circuit = system.circuits.get(conductor.circuit);
        let current = circuit.map_or(Amps::zero(), |circuit| circuit.current_steady);
        let is_ac = conductor.pole.is_ac() || circuit.is_some_and(|circuit| circuit.supply == Supply::Ac);
        let over_50 = circuit.map_or(system.voltage, |circuit| circuit.voltage).get() >= 50.0;
        if conductor.pole == Pole::Earth || current <= Amps::zero() {
            return hottest;
        }
        let class = match (is_ac, over_50) {
            (true, _) => SystemVoltage::Ac,
            (false, false) => SystemVoltage::Under50,
            (false, true) => SystemVoltage::Over50,
        };
        let key = (
            conductor.gauge,
            conductor.insulation,
            conductor.zone,
            conductor.bundle * 2 + u32::from(over_50),
            is_ac,
        );
        let reference = self.reference;
        let ampacity = *self.ampacities.entry(key).or_insert_with(|| {
            let place = Place {
                ambient: hottest,
                engine_space: system
                    .zones
                    .get(conductor.zone)
                    .is_some_and(|zone| zone.kind == ZoneKind::EngineSpace),
                bundled_current_carrying: conductor.bundle,
                system: class,
            };
            reference
                .ampacity(system.rules, conductor.gauge, conductor.insulation, &place)
                .map_or(Amps::zero(), |cited| cited.value)
        });
        derive::sizing::working_temperature(hottest, conductor.insulation, current, ampacity)
    }
}

/// Resistance from one side of a device to the other; `None` for a device that current does not pass through.
pub(crate) fn through(spec: &Spec) -> Option<Ohms> {
    let ohms = match spec {
        Spec::Fuse(fuse) => {
            let family = Reference::standard().fuse_family(&fuse.family);
            family.map_or(Ohms::new(INTERNAL), |family| family.cold_resistance(fuse.rating))
        }
        Spec::Breaker(breaker) if breaker.part.current > Amps::zero() => {
            Ohms::new(BREAKER_DROP / breaker.part.current.get())
        }
        Spec::Breaker(_) => Ohms::new(DISCONNECT),
        Spec::Disconnect(_) => Ohms::new(DISCONNECT),
        Spec::Shunt(shunt) if shunt.current > Amps::zero() => shunt.drop / shunt.current,
        Spec::Shunt(_) => Ohms::new(DISCONNECT),
        Spec::Relay(_) => Ohms::new(RELAY),
        _ => return None,
    };
    Some(if ohms.get().is_finite() { ohms.max(Ohms::new(LEAST)) } else { Ohms::new(INTERNAL) })
}
