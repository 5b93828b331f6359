//! What holds for the whole project: rule set, voltages, zones, cable, and the assumptions about each.
//! Never: depends on a load or a part, save the bank's voltages, which the bank fills in.
//! Start at [`Settings::of`].

use model::{Craft, Inputs, Origin, Zone, ZoneIx, ZoneKind};
use quantity::{AmpHours, Amps, Celsius, Degrees, Fraction, Gauge, Hours, Metres, Ohms, Volts, Written};
use reference::{Insulation, RuleSet};

use crate::builder::Builder;

/// Project-wide values.
#[derive(Clone, Debug)]
pub struct Settings {
    pub rules: RuleSet,
    pub craft: Craft,
    /// Nominal voltage, as in the brief.
    pub voltage: Volts,
    /// Bank full and at rest: for faults.
    pub voltage_high: Volts,
    /// Bank at the end of its working range: for currents and drops.
    pub voltage_low: Volts,
    /// Highest voltage while charging: for voltage ratings.
    pub voltage_charging: Volts,
    /// Loop resistance of the bank alone.
    pub bank_loop: Ohms,
    /// Whether the bank is lithium: the rules on interrupt ratings differ.
    pub is_lithium: bool,
    /// Capacity of the bank.
    pub capacity: AmpHours,
    /// Sum of the charging sources' current limits, which add to every fault.
    pub limited_sources: Amps,
    /// Where the busbars, fuses and panels sit unless said otherwise.
    pub board_zone: ZoneIx,
    pub insulation: Insulation,
    pub tinned: bool,
    pub smallest: Option<Gauge>,
    pub slack: Fraction,
    pub autonomy: Hours,
    pub autonomy_origin: Origin,
    pub ac_voltage: Volts,
    pub frequency: u32,
    /// Latitude, for the hours of sun.
    pub latitude: Degrees,
}

impl Settings {
    /// Reads them out of the project; enters zones and assumptions.
    pub fn of(builder: &mut Builder<'_>) -> Self {
        let intent = &builder.project.intent;
        let brief = &intent.brief;
        let rules = brief.rules;
        zones(builder);
        let said = intent.board.as_ref().and_then(|board| board.zone.as_ref());
        let board_zone = said
            .and_then(|name| builder.zones.iter().position(|zone| zone.id == name.as_str()))
            .or_else(|| builder.zones.iter().position(|zone| zone.kind == ZoneKind::Living))
            .or_else(|| builder.zones.iter().position(|zone| zone.kind != ZoneKind::Outside))
            .unwrap_or(0);
        let cable = intent.cable.as_ref();
        let insulation = match cable.and_then(|cable| cable.insulation) {
            Some(insulation) => insulation,
            None => {
                let insulation = match rules {
                    RuleSet::Na => Insulation::C105,
                    RuleSet::Iec => Insulation::C90,
                };
                builder.assume(
                    "cable.insulation",
                    insulation.to_string(),
                    None,
                    "the usual rating of flexible boat and vehicle cable under this rule set",
                    false,
                );
                insulation
            }
        };
        let is_boat = brief.craft == Craft::Boat;
        let tinned = cable.and_then(|cable| cable.tinned).unwrap_or(is_boat || rules == RuleSet::Na);
        let slack = builder.given(
            "cable.slack",
            cable.and_then(|cable| cable.slack),
            Fraction::new(0.10),
            None,
            "extra length for making up ends; common practice, no source",
            false,
        );
        let days = if brief.craft == Craft::Hut { 72.0 } else { 48.0 };
        let autonomy = builder.given(
            "brief.autonomy",
            brief.autonomy,
            Hours::new(days),
            Some((Hours::new(24.0), Hours::new(120.0))),
            "days without any charging that most people want; common practice, no source",
            false,
        );
        let latitude = builder.given(
            "brief.place.latitude",
            brief.place.as_ref().map(|place| place.latitude),
            Degrees::new(45.0),
            None,
            "halfway between equator and pole, where many such projects are used",
            false,
        );
        let (ac_voltage, frequency) = match rules {
            RuleSet::Na => (Volts::new(120.0), 60),
            RuleSet::Iec => (Volts::new(230.0), 50),
        };
        Self {
            rules,
            craft: brief.craft,
            voltage: brief.voltage,
            voltage_high: brief.voltage,
            voltage_low: brief.voltage,
            voltage_charging: brief.voltage * 1.2,
            bank_loop: Ohms::new(0.005),
            is_lithium: false,
            capacity: AmpHours::zero(),
            limited_sources: Amps::zero(),
            board_zone,
            insulation,
            tinned,
            smallest: cable.and_then(|cable| cable.smallest),
            slack: slack.value,
            autonomy: autonomy.value,
            autonomy_origin: autonomy.origin,
            ac_voltage,
            frequency,
            latitude: latitude.value,
        }
    }

    /// The nominal voltage shared by a battery or device part: 12.8 V counts as 12 V, 51.2 V as 48 V.
    pub fn nominal(volts: Volts) -> f64 {
        let volts = volts.get();
        [6.0, 12.0, 24.0, 36.0, 48.0]
            .into_iter()
            .min_by(|a, b| (a - volts).abs().total_cmp(&(b - volts).abs()))
            .unwrap_or(volts)
    }

    /// The usual supply at a site or jetty.
    pub fn usual_shore(&self) -> Amps {
        match self.rules {
            RuleSet::Na => Amps::new(30.0),
            RuleSet::Iec => Amps::new(16.0),
        }
    }

    /// Whether a part's alternating voltage is that of the rule set.
    pub fn is_ac_voltage(&self, volts: Volts) -> bool {
        (volts / self.ac_voltage - 1.0).abs() < 0.1
    }

    /// Whether a part's direct voltage is that of the bank.
    pub fn is_bank_voltage(&self, volts: Volts) -> bool {
        same_nominal(volts, self.voltage)
    }
}

/// Whether two direct voltages have the same nominal value.
pub fn same_nominal(a: Volts, b: Volts) -> bool {
    Settings::nominal(a) == Settings::nominal(b) && (a / b - 1.0).abs() < 0.25
}

fn zones(builder: &mut Builder<'_>) {
    let intent = &builder.project.intent;
    let craft = intent.brief.craft;
    for (name, zone) in &intent.zones {
        let kind = zone.kind.unwrap_or(ZoneKind::Living);
        let (coldest, hottest) = climate(kind);
        let path = format!("zones.{name}");
        let coldest = builder.given(
            &format!("{path}.coldest"),
            zone.coldest,
            coldest,
            Some((coldest + quantity::Kelvins::new(-15.0), coldest + quantity::Kelvins::new(10.0))),
            "typical of such a zone in a temperate climate; common practice, no source",
            false,
        );
        let hottest = builder.given(
            &format!("{path}.hottest"),
            zone.hottest,
            hottest,
            Some((hottest + quantity::Kelvins::new(-10.0), hottest + quantity::Kelvins::new(10.0))),
            "typical of such a zone in a temperate climate; common practice, no source",
            false,
        );
        // A battery box that is not said to be vented is taken as closed: the careful side for gas.
        let vented = zone.vented.unwrap_or(matches!(kind, ZoneKind::Outside));
        builder.because(
            &path,
            Inputs::new()
                .with("coldest", coldest.value.show(), coldest.origin)
                .with("hottest", hottest.value.show(), hottest.origin)
                .because(format!("{} to {}", coldest.value, hottest.value), "as said or assumed"),
        );
        builder.zones.push(Zone {
            id: name.to_string(),
            kind,
            coldest: coldest.value,
            hottest: hottest.value,
            vented,
        });
    }
    if builder.zones.is_empty() {
        let (coldest, hottest) = climate(ZoneKind::Living);
        builder.assume(
            "zones",
            format!("one zone, {coldest} to {hottest}"),
            None,
            "no zone is described; everything is taken to be inside",
            false,
        );
        let id = if craft == Craft::Boat { "cabin" } else { "inside" };
        builder.because(
            format!("zones.{id}"),
            Inputs::new()
                .with("zones", "none described", Origin::Assumed("zones".to_owned()))
                .because(format!("{coldest} to {hottest}"), "assumed"),
        );
        builder.zones.push(Zone {
            id: id.to_owned(),
            kind: ZoneKind::Living,
            coldest,
            hottest,
            vented: true,
        });
    }
}

fn climate(kind: ZoneKind) -> (Celsius, Celsius) {
    let (coldest, hottest) = match kind {
        ZoneKind::Living => (0.0, 40.0),
        ZoneKind::EngineSpace => (-15.0, 60.0),
        ZoneKind::BatteryBox => (-5.0, 40.0),
        ZoneKind::Wet => (-5.0, 40.0),
        ZoneKind::Outside => (-15.0, 50.0),
    };
    (Celsius::new(coldest), Celsius::new(hottest))
}

/// Length of a run that the person did not give, and its plausible range, by craft.
pub fn assumed_length(craft: Craft, what: Length) -> (Metres, Metres, Metres) {
    let scale: f64 = match craft {
        Craft::Trailer => 0.7,
        Craft::Van | Craft::Workshop => 1.0,
        Craft::Boat => 1.5,
        Craft::Hut => 1.8,
    };
    let metres: f64 = match what {
        Length::Bank => 1.0,
        Length::Board => 0.5,
        Length::Load => 4.0,
        Length::Panel => 1.0,
        Length::Array => 5.0,
        Length::Engine => 5.0,
        Length::Inlet => 4.0,
    };
    let metres = (metres * scale * 10.0).round() / 10.0;
    (Metres::new(metres), Metres::new(metres / 2.0), Metres::new(metres * 2.0))
}

/// Which run a length is of.
#[derive(Clone, Copy, Debug)]
pub enum Length {
    Bank,
    Board,
    Load,
    Panel,
    Array,
    Engine,
    Inlet,
}
