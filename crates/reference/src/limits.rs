//! Limits that rules over the whole system need: hydrogen, residual current, figures of the trade without a standard.
//! Never: judges. Each figure says whether a standard or only common practice stands behind it.
//! Start at [`Reference::ventilation`] and [`Reference::residual_limit`].

use crate::data::Tables;
use crate::{Cite, Cited, Provenance, Reference, RuleSet};
use quantity::{AmpHours, Amps, Farads, Fraction, Hours, Kilograms, Litres, Metres, Ohms, SquareMm, Volts};

/// Air that a battery on charge needs.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Ventilation {
    /// Air in an hour.
    pub each_hour: Litres,
    /// Free area of the inlet, and again of the outlet, for natural draught.
    pub opening: SquareMm,
}

/// Voltage up to which a circuit counts as extra-low for its insulation test (IEC 60364-6 Table 6A: SELV and PELV).
const EXTRA_LOW: f64 = 50.0;

pub(crate) struct Limits {
    facts: Vec<(String, f64, Cite)>,
    /// Chemistry, float and absorption gassing current [mA/Ah].
    gassing: Vec<(String, f64, f64, Cite)>,
}

impl Limits {
    pub fn load(tables: &Tables) -> Result<Self, String> {
        let mut facts = Vec::new();
        for id in ["ventilation", "residual", "judgement", "building"] {
            let table = tables.get(id)?;
            for row in &table.rows {
                facts.push((format!("{id}/{}", row.key), table.need(&row.key, 1)?, row.cite(&table.what)));
            }
        }
        let table = tables.get("gassing")?;
        let mut gassing = Vec::new();
        for row in &table.rows {
            let (float, absorption) = (table.need(&row.key, 1)?, table.need(&row.key, 2)?);
            gassing.push((row.key.clone(), float, absorption, row.cite(&table.what)));
        }
        Ok(Self { facts, gassing })
    }

    /// A number of a one-number table. Every key used in this file is looked up by a test.
    fn fact(&self, key: &str) -> Cited<f64> {
        let found = self.facts.iter().find(|(known, ..)| known == key);
        found.map_or_else(
            || Cited::new(f64::NAN, Cite::new("practice", format!("{key} is missing"), Provenance::Memory)),
            |(_, value, cite)| Cited::new(*value, cite.clone()),
        )
    }
}

impl Reference {
    /// Air for the hydrogen of a battery while it absorbs charge: `Q = 0.05 n Igas C`, opening `28 Q` (IEC 62485-2, 7.2 and 7.3).
    /// - `cells`: in series; `capacity`: of all strings together.
    ///
    /// `None` for a chemistry that makes no gas.
    pub fn ventilation(&self, chemistry: &str, cells: u32, capacity: AmpHours) -> Option<Cited<Ventilation>> {
        let (.., absorption, cite) = self.limits.gassing.iter().find(|(key, ..)| key == chemistry)?;
        let factor = self.limits.fact("ventilation/flow per cell and gassing ampere [m³/h]");
        let opening = self.limits.fact("ventilation/opening per flow [cm² per m³/h]");
        let cubic_metres = factor.value * f64::from(cells) * absorption / 1000.0 * capacity.get();
        let air = Ventilation {
            each_hour: Litres::new(cubic_metres * 1000.0),
            opening: SquareMm::new(opening.value * cubic_metres * 100.0),
        };
        Some(Cited::new(air, cite.clone().noting(factor.cite.note.unwrap_or_default())))
    }

    /// Largest rated residual current of a device that protects people.
    pub fn residual_limit(&self, rules: RuleSet) -> Cited<Amps> {
        self.limits.fact(&format!("residual/{rules}")).map(Amps::new)
    }

    /// How far one battery of a parallel bank may stand above the mean share.
    pub fn uneven_share(&self) -> Cited<Fraction> {
        self.limits.fact("judgement/share of a battery above the mean").map(Fraction::new)
    }

    /// How far a charger's set point may stand off the battery's sheet in a system of this nominal voltage.
    pub fn charge_voltage_tolerance(&self, nominal: Volts) -> Cited<Volts> {
        self.limits.fact("judgement/charge voltage off the sheet, of nominal").map(|share| nominal * share)
    }

    /// Share by which two voltages may differ and still be one nominal voltage: 12 V and 12.8 V, 230 V and 240 V.
    pub fn same_nominal(&self) -> Cited<Fraction> {
        self.limits.fact("judgement/voltages that count as the same nominal").map(Fraction::new)
    }

    /// Input capacitance from which precharging through a resistor is advised.
    pub fn precharge_from(&self) -> Cited<Farads> {
        self.limits.fact("judgement/input capacitance that asks for precharge [F]").map(Farads::new)
    }

    /// Share of an alternator's rating that the engine's own loads take where nothing is said.
    pub fn engine_own_share(&self) -> Cited<Fraction> {
        self.limits.fact("judgement/alternator share for the engine's own loads").map(Fraction::new)
    }

    /// Mass above which two people lift.
    pub fn lift_alone(&self) -> Cited<Kilograms> {
        self.limits.fact("building/mass that one person lifts [kg]").map(Kilograms::new)
    }

    /// Least insulation resistance of a circuit of this nominal voltage, between its poles and to the chassis.
    pub fn insulation_least(&self, nominal: Volts) -> Cited<Ohms> {
        let key = if nominal.get() <= EXTRA_LOW { "up to 50 V" } else { "of mains" };
        self.limits.fact(&format!("building/insulation {key} [Ω]")).map(Ohms::new)
    }

    /// Direct voltage up to which bare parts may be touched with dry hands.
    pub fn touch_voltage(&self) -> Cited<Volts> {
        self.limits.fact("building/direct voltage that may be touched, dry [V]").map(Volts::new)
    }

    /// Longest cable between devices that stand on one mounting board.
    pub fn board_reach(&self) -> Cited<Metres> {
        self.limits.fact("building/reach of one mounting board [m]").map(Metres::new)
    }

    /// Distance of direct- from alternating-current conductors that are fixed to one surface without sheath or barrier.
    pub fn dc_from_ac(&self) -> Cited<Metres> {
        self.limits.fact("building/DC and AC conductors apart on a surface [m]").map(Metres::new)
    }

    /// Distance of a hole's middle from an edge, in diameters of the hole.
    pub fn hole_from_edge(&self) -> Cited<f64> {
        self.limits.fact("building/hole from an edge, in diameters of the hole")
    }

    /// Mass that one screw of a mounting board holds in a craft that moves.
    pub fn board_screw_load(&self) -> Cited<Kilograms> {
        self.limits.fact("building/mass on one screw of a board that rides along [kg]").map(Kilograms::new)
    }

    /// Largest reading of a whole cable on an ordinary meter, its leads in it.
    pub fn continuity_most(&self) -> Cited<Ohms> {
        self.limits.fact("building/continuity on a meter [Ω]").map(Ohms::new)
    }

    /// How far batteries of this nominal voltage may differ when they are joined in parallel.
    pub fn join_difference(&self, nominal: Volts) -> Cited<Volts> {
        self.limits
            .fact("building/difference before batteries are joined, of nominal")
            .map(|share| nominal * share)
    }

    /// Current with which a precharge through a resistor starts.
    pub fn precharge_start(&self) -> Cited<Amps> {
        self.limits.fact("building/start of a precharge [A]").map(Amps::new)
    }

    /// How far the output of an inverter or converter may stand off its rating.
    pub fn output_tolerance(&self) -> Cited<Fraction> {
        self.limits.fact("building/output off its rating").map(Fraction::new)
    }

    /// Time before an adhesive or sealant on a roof carries load.
    pub fn roof_curing(&self) -> Cited<Hours> {
        self.limits.fact("building/curing of a roof adhesive [h]").map(Hours::new)
    }

    /// Time of use after which lugs are tightened again.
    pub fn tighten_again(&self) -> Cited<Hours> {
        self.limits.fact("building/use before lugs are tightened again [h]").map(Hours::new)
    }

    /// Mass of cable: its copper with a share for insulation.
    pub fn cable_mass(&self, area: SquareMm, length: Metres) -> Cited<Kilograms> {
        let density = self.limits.fact("judgement/density of copper [kg/m³]").value;
        let over = self.limits.fact("judgement/cable mass over its copper");
        over.map(|over| Kilograms::new(area.get() * 1e-6 * length.get() * density * over))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// EN 50272-2 as printed in public battery-room texts: Q = 0.05 n Igas C, Table 1 (20 mA/Ah vented, 8 mA/Ah valve-regulated at
    /// absorption). 6 cells of 200 Ah flooded: 0.05 x 6 x 0.020 x 200 = 1.2 m³/h, opening 28 x 1.2 = 33.6 cm².
    #[test]
    fn air_for_hydrogen() {
        let reference = Reference::standard();
        let found = reference.ventilation("flooded", 6, AmpHours::new(200.0)).unwrap();
        assert!((found.value.each_hour.get() - 1200.0).abs() < 1e-6, "{found:?}");
        assert!((found.value.opening.get() - 3360.0).abs() < 1e-6, "{found:?}");
        let sealed = reference.ventilation("agm", 6, AmpHours::new(200.0)).unwrap();
        assert!((sealed.value.each_hour.get() - 480.0).abs() < 1e-6, "{sealed:?}");
        assert_eq!(reference.ventilation("lfp", 4, AmpHours::new(200.0)), None);
    }

    #[test]
    fn every_fact_is_there() {
        let reference = Reference::standard();
        assert_eq!(reference.residual_limit(RuleSet::Na).value, Amps::new(0.03));
        assert_eq!(reference.residual_limit(RuleSet::Iec).value, Amps::new(0.03));
        assert_eq!(reference.uneven_share().value, Fraction::new(0.10));
        assert!((reference.charge_voltage_tolerance(Volts::new(12.0)).value.get() - 0.2).abs() < 1e-3);
        assert_eq!(reference.same_nominal().value, Fraction::new(0.25));
        assert_eq!(reference.precharge_from().value, Farads::new(0.01));
        assert_eq!(reference.engine_own_share().value, Fraction::new(0.30));
        // DHHS (NIOSH) Publication 94-110: the load constant, 23 kg or 51 lb.
        assert_eq!(reference.lift_alone().value, Kilograms::new(23.0));
        // A railway's public reprint of IEC 60364-6 Table 6A: 0.5 MΩ up to 50 V, 1.0 MΩ up to 500 V.
        assert_eq!(reference.insulation_least(Volts::new(48.0)).value, Ohms::new(0.5e6));
        assert_eq!(reference.insulation_least(Volts::new(230.0)).value, Ohms::new(1.0e6));
        assert_eq!(reference.touch_voltage().value, Volts::new(60.0));
        assert_eq!(reference.board_reach().value, Metres::new(1.5));
        assert_eq!(reference.continuity_most().value, Ohms::new(0.5));
        assert!((reference.join_difference(Volts::new(12.0)).value.get() - 0.1).abs() < 1e-3);
        assert_eq!(reference.precharge_start().value, Amps::new(1.0));
        assert_eq!(reference.output_tolerance().value, Fraction::new(0.05));
        assert_eq!(reference.roof_curing().value, Hours::new(24.0));
        assert_eq!(reference.tighten_again().value, Hours::new(24.0));
        // Density of copper 8.96 g/cm³ (handbooks of physics): 1 m of 100 mm² is 0.896 kg of copper.
        let mass = reference.cable_mass(SquareMm::new(100.0), Metres::new(1.0)).value;
        assert!((mass.get() / 1.25 - 0.896).abs() < 1e-9, "{mass:?}");
    }
}
