//! Choosing the conductors of a run, with pins and the reason of each size.
//! Never: chooses the fuse ahead of them (see `fuse_choice.rs`).
//! Start at [`Builder::choose_conductor`].

use model::{CircuitIx, Conductor, Inputs, Origin, Pole, Spec, TerminalRef, ZoneIx};
use quantity::{Amps, Fraction, Gauge, Metres, SquareAmpSeconds, Volts, Written};
use reference::{Cited, Insulation, Place, SystemVoltage};

use crate::builder::Builder;
use crate::fuse_choice::{FusePick, jumper_length};
use crate::settings::Settings;
use crate::sizing::{self, ConductorAsk, ConductorChoice};

use crate::run::{Guard, Run};

/// A single conductor whose size follows from another's or from a table: links, board cables, jumpers, bonds.
pub struct Single<'a> {
    pub id: &'a str,
    pub ends: (TerminalRef, TerminalRef),
    pub pole: Pole,
    pub gauge: Gauge,
    /// Why that size, in words.
    pub step: &'a str,
    pub inputs: Inputs,
    pub length: Metres,
    /// Voltage that its insulation must stand.
    pub voltage: Volts,
    pub zone: ZoneIx,
    pub sheathed: bool,
    pub circuit: CircuitIx,
    pub intent: &'a str,
}

impl Builder<'_> {
    /// Lays a single conductor, of the size given or pinned.
    pub fn lay_single(&mut self, settings: &Settings, single: Single<'_>) {
        let path = format!("{}.gauge", single.id);
        let pin: Option<Gauge> = self.pin(&path);
        let gauge = pin.unwrap_or(single.gauge);
        let derived = Some(single.gauge.show());
        self.because_pinned(&path, gauge.show(), derived, pin.is_some(), single.step, single.inputs);
        let (insulation, tinned) = (settings.insulation, settings.tinned);
        let library = &self.project.library;
        let cable = crate::choose::cable(library, gauge, 1, insulation, tinned, single.voltage);
        self.push_conductor(
            single.id.to_owned(),
            single.ends,
            single.pole,
            (gauge, insulation, tinned),
            (single.length, single.zone, 1, single.sheathed, 1),
            single.circuit,
            cable,
            single.intent,
        );
    }

    /// What the conductor of a run is asked.
    pub fn ask(&self, settings: &Settings, run: &Run, carry: Amps, ahead: Option<&FusePick>) -> ConductorAsk {
        let holder = ahead.and_then(|fuse| fuse.holder.as_ref()).map(|(_, holder)| holder);
        let family = ahead.and_then(|fuse| Some((fuse.rating, self.reference.fuse_family(&fuse.family)?)));
        let ends =
            [self.max_gauge(run.from.0), self.max_gauge(run.to.0), holder.map(|holder| holder.max_gauge)];
        let way = match &run.guard {
            Guard::Way { panel, .. } => match &self.devices[*panel].spec {
                Spec::FusePanel(panel) => Some(panel.max_gauge),
                _ => None,
            },
            _ => None,
        };
        let ends = match run.guard {
            // The panel's bus terminal is not where the branch wire ends: its way is.
            Guard::Way { .. } => [None, ends[1], way],
            _ => ends,
        };
        // What the rules allow, what the person wants at least, and what there is a lug for at either end.
        let studs = match run.guard {
            Guard::Way { .. } => [None, self.least_gauge(run.to.0), self.least_gauge(run.from.1), None],
            _ => [
                self.least_gauge(run.from.0),
                self.least_gauge(run.to.0),
                self.least_gauge(run.from.1),
                holder.and_then(|holder| holder.stud).and_then(|stud| self.least_on_stud(stud)),
            ],
        };
        // The smaller limit in a sheath is for cores of one cable; these are single conductors, sheathed or not.
        let allowed = self.reference.min_gauge(settings.rules, false, false).value;
        let least = studs.into_iter().flatten().chain(settings.smallest).fold(allowed, Gauge::max);
        ConductorAsk {
            rules: settings.rules,
            current: carry,
            protection: ahead.map(|fuse| fuse.rating),
            voltage: run.voltage,
            drop_current: run.drop_current,
            drop_limit: run.drop_limit,
            length: run.length.value + self.beside(run),
            insulation: settings.insulation,
            tinned: settings.tinned,
            place: self.place(run.zone, run.bundle, run.voltage),
            smallest: least,
            largest: ends.into_iter().flatten().min(),
            withstand: family
                .map_or(SquareAmpSeconds::zero(), |(rating, family)| sizing::let_through(family, rating)),
        }
    }

    /// The surroundings of a conductor in a zone.
    pub fn place(&self, zone: ZoneIx, bundle: u32, voltage: Volts) -> Place {
        let zone = &self.zones[zone];
        Place {
            ambient: zone.hottest,
            engine_space: zone.kind == model::ZoneKind::EngineSpace,
            bundled_current_carrying: bundle,
            system: if voltage.get() < 50.0 { SystemVoltage::Under50 } else { SystemVoltage::Over50 },
        }
    }

    pub fn try_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        ahead: Option<&FusePick>,
    ) -> Result<ConductorChoice, String> {
        let ask = self.ask(settings, run, carry, ahead);
        sizing::conductor_with(&ask, &mut |gauge| self.ampacity(&ask, gauge)).map_err(|none| none.need)
    }

    /// Ampacity, looked up once for each size and place.
    pub fn ampacity(&self, ask: &ConductorAsk, gauge: Gauge) -> Result<Cited<Amps>, reference::OutOfTable> {
        self.ampacities.look_up(ask.rules, gauge, ask.insulation, &ask.place)
    }

    /// A conductor whatever the terminals say; what does not fit becomes a gap.
    pub fn choose_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        ahead: Option<&FusePick>,
    ) -> ConductorChoice {
        let choice = match self.try_conductor(settings, run, carry, ahead) {
            Ok(choice) => choice,
            Err(need) => match self.largest_that_fits(&self.ask(settings, run, carry, ahead)) {
                // It carries the current and loses too much: the rules say so, and the circuit stays whole.
                Some(mut choice) => {
                    choice.smaller_fails = need;
                    choice
                }
                None => {
                    self.gap(&format!("{}.positive.gauge", run.id), need, &run.intent);
                    let ask = ConductorAsk { largest: None, ..self.ask(settings, run, carry, ahead) };
                    sizing::conductor_with(&ask, &mut |gauge| self.ampacity(&ask, gauge)).unwrap_or_else(
                        |_| {
                            let gauge = self
                                .reference
                                .gauges(settings.rules)
                                .last()
                                .copied()
                                .unwrap_or(Gauge::Awg(-3));
                            self.measured(&ask, gauge)
                        },
                    )
                }
            },
        };
        self.finish_conductor(settings, run, carry, ahead, choice)
    }

    /// The largest size that the terminals take, where it carries the current and only the drop is too much.
    pub fn largest_that_fits(&self, ask: &ConductorAsk) -> Option<ConductorChoice> {
        let any_drop = ConductorAsk { drop_limit: Fraction::new(1.0), ..ask.clone() };
        let fitting = self.reference.gauges(ask.rules).iter().rev().copied();
        let largest =
            fitting.into_iter().find(|gauge| ask.largest.is_none_or(|largest| *gauge <= largest))?;
        let at = |gauge| self.ampacity(&any_drop, gauge);
        sizing::conductor_fails(&any_drop, largest, &mut |gauge| at(gauge)).ok()?;
        Some(self.measured(ask, largest))
    }

    /// Facts of a size that may not do: for pins and for what lies beyond the tables.
    fn measured(&self, ask: &ConductorAsk, gauge: Gauge) -> ConductorChoice {
        let ampacity = self.ampacity(ask, gauge).unwrap_or_else(|error| Cited {
            value: Amps::zero(),
            cite: reference::Cite {
                source: "practice",
                row: error.to_string(),
                provenance: reference::Provenance::Memory,
                note: None,
            },
        });
        let temperature =
            sizing::working_temperature(ask.place.ambient, ask.insulation, ask.drop_current, ampacity.value);
        let drop = sizing::loop_resistance(gauge, ask.tinned, ask.length, temperature)
            .map_or(Volts::zero(), |resistance| ask.drop_current * resistance);
        ConductorChoice { gauge, ampacity, drop, temperature, smaller_fails: String::new() }
    }

    /// Applies a pin and enters the reason of the positive conductor's size.
    pub fn finish_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        ahead: Option<&FusePick>,
        derived: ConductorChoice,
    ) -> ConductorChoice {
        let path = format!("{}.positive.gauge", run.id);
        let pin: Option<Gauge> = self.pin(&path);
        let ask = self.ask(settings, run, carry, ahead);
        let choice = match pin {
            Some(gauge) => self.measured(&ask, gauge),
            None => derived.clone(),
        };
        let percent = 100.0 * (choice.drop / run.voltage);
        let allowed = 100.0 * run.drop_limit.get();
        let mut inputs = Inputs::new()
            .with("current to carry", carry, Origin::Derived(format!("{}.current", run.id)))
            .with("length, one way", run.length.value, run.length.origin.clone())
            .with("ampacity there", choice.ampacity.value, Origin::Table(choice.ampacity.cite.clone()))
            .with(
                "hottest zone",
                self.zones[run.zone].hottest,
                Origin::Derived(format!("zones.{}", self.zones[run.zone].id)),
            )
            .with(
                "drop allowed",
                format!("{} %", sizing::round(allowed, 2)),
                Origin::Derived(format!("{}.drop-limit", run.id)),
            );
        if let Ok(per_km) = self.reference.resistance(choice.gauge, settings.tinned, choice.temperature) {
            inputs = inputs.with(
                "resistance",
                format!("{} Ω/km", sizing::round(per_km.value.get(), 4)),
                Origin::Table(per_km.cite),
            );
        }
        if let Some(protection) = ahead.map(|fuse| fuse.rating) {
            let most = self.reference.max_protection(settings.rules, ask.place.system, choice.ampacity.value);
            inputs = inputs
                .with("fuse ahead of it", protection, Origin::Derived(format!("{}.fuse.rating", run.id)))
                .with("largest fuse allowed", most.value, Origin::Table(most.cite));
        }
        let smaller = if choice.smaller_fails.is_empty() {
            "the smallest size allowed".to_owned()
        } else {
            format!("the next smaller will not do: {}", choice.smaller_fails)
        };
        self.because_pinned(
            &path,
            choice.gauge.show(),
            Some(derived.gauge.show()),
            pin.is_some(),
            format!(
                "carries {} of {} at {}; loses {} ({:.1} %) out and back; {smaller}",
                carry, choice.ampacity.value, self.zones[run.zone].hottest, choice.drop, percent
            ),
            inputs,
        );
        choice
    }

    pub fn negative_gauge(&mut self, run: &Run, positive: &ConductorChoice) -> Gauge {
        let path = format!("{}.negative.gauge", run.id);
        let pin: Option<Gauge> = self.pin(&path);
        let gauge = pin.unwrap_or(positive.gauge);
        let inputs = Inputs::new().with(
            "positive conductor",
            positive.gauge.show(),
            Origin::Derived(format!("{}.positive.gauge", run.id)),
        );
        self.because_pinned(
            &path,
            gauge.show(),
            Some(positive.gauge.show()),
            pin.is_some(),
            "the return carries the same current, so it has the size of the positive",
            inputs,
        );
        gauge
    }

    #[allow(clippy::too_many_arguments)] // one conductor has this many facts
    pub fn conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        circuit: CircuitIx,
        name: &str,
        pole: Pole,
        gauge: Gauge,
        ends: (TerminalRef, TerminalRef),
        cores: u32,
    ) {
        let cable = crate::choose::cable(
            &self.project.library,
            gauge,
            cores,
            settings.insulation,
            settings.tinned,
            run.voltage,
        );
        let insulation = settings.insulation;
        self.push_conductor(
            format!("{}.{name}", run.id),
            ends,
            pole,
            (gauge, insulation, settings.tinned),
            (run.length.value, run.zone, run.bundle, run.sheathed, cores),
            circuit,
            cable,
            &run.intent,
        );
        self.because(
            format!("{}.{name}.length", run.id),
            Inputs::new()
                .with("length, one way", run.length.value, run.length.origin.clone())
                .because(run.length.value, "as said or assumed"),
        );
    }

    #[allow(clippy::too_many_arguments)] // see above
    pub fn push_conductor(
        &mut self,
        id: String,
        ends: (TerminalRef, TerminalRef),
        pole: Pole,
        (gauge, insulation, tinned): (Gauge, Insulation, bool),
        (length, zone, bundle, sheathed, cores): (Metres, ZoneIx, u32, bool, u32),
        circuit: CircuitIx,
        cable: Option<String>,
        intent: &str,
    ) {
        if cable.is_none() {
            self.gap(
                &format!("{id}.cable"),
                format!("{cores}-core cable, {}, insulation of at least {insulation}", gauge.show()),
                intent,
            );
        }
        let length = self.measured.whole.get(&id).copied().unwrap_or(length);
        self.conductors.push(Conductor {
            id,
            number: 0,
            from: ends.0,
            to: ends.1,
            pole,
            gauge,
            insulation,
            tinned,
            length,
            zone,
            bundle,
            sheathed,
            cores,
            circuit,
            is_internal: false,
            cable,
            intent: intent.to_owned(),
        });
    }
}

impl Builder<'_> {
    /// Length that counts for the drop beside the run itself, as one way of a pair: the jumper to the fuse in one pole, and on
    /// the main path the cables between board devices and bars.
    fn beside(&self, run: &Run) -> Metres {
        let of = |name: &str, usual: Metres| {
            self.measured.whole.get(&format!("{}.{name}", run.id)).copied().unwrap_or(usual)
        };
        let jumpers: &[&str] = match run.guard {
            Guard::AtSource => &["jumper"],
            Guard::BothEnds => &["jumper", "jumper-far"],
            Guard::Way { .. } | Guard::Limited => &[],
        };
        let bridges: &[&str] = if run.id == "main" { &["bar-positive", "bar-negative"] } else { &[] };
        let both: Metres = jumpers
            .iter()
            .map(|name| of(name, jumper_length()))
            .chain(bridges.iter().map(|name| of(name, crate::board::bridge_length())))
            .sum();
        both / 2.0
    }
}
