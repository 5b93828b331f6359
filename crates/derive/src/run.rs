//! Laying a direct-current run: its protection, its two conductors, the links at its ends, and the reason of each.
//! Never: knows what the run is for; the callers say that in a [`Run`].
//! Start at [`Builder::lay`].

use model::parts::{FuseHolder, Supply};
use model::{
    Circuit, CircuitIx, CircuitKind, Conductor, DeviceIx, Fuse, Inputs, Name, Origin, Pole, Spec,
    TerminalRef, ZoneIx,
};
use quantity::{Amps, Fraction, Gauge, Metres, Ohms, Volts, Written};
use reference::{Cited, Insulation, Place, SystemVoltage};

use crate::builder::{Builder, Given, terminal};
use crate::settings::Settings;
use crate::sizing::{self, ConductorAsk, ConductorChoice};

/// Where the protection of a run sits.
#[derive(Clone, Debug)]
pub enum Guard {
    /// In a way of this panel.
    Way { panel: DeviceIx, family: String, largest: Amps },
    /// In a holder of its own beside the source.
    AtSource,
    /// In holders at both ends, since both ends can feed.
    BothEnds,
    /// None of its own: the source cannot give more than the conductor carries.
    Limited,
}

/// A run to lay.
#[derive(Clone, Debug)]
pub struct Run {
    pub id: String,
    pub title: String,
    pub kind: CircuitKind,
    pub voltage: Volts,
    pub voltage_lowest: Volts,
    pub steady: Amps,
    pub surge: Amps,
    pub drop_current: Amps,
    pub continuous: bool,
    pub critical: bool,
    pub drop_limit: Fraction,
    /// Factor on the steady current for protection and ampacity, with its source.
    pub factor: (f64, Origin),
    pub from: (TerminalRef, TerminalRef),
    pub to: (TerminalRef, TerminalRef),
    pub length: Given<Metres>,
    pub zone: ZoneIx,
    pub bundle: u32,
    pub sheathed: bool,
    pub guard: Guard,
    pub intent: String,
    /// What the steady current is made of.
    pub current_step: String,
    pub current_inputs: Inputs,
    pub serves: Vec<DeviceIx>,
}

/// A fuse with its holder.
#[derive(Clone, Debug)]
struct FusePick {
    family: String,
    rating: Amps,
    interrupt: Amps,
    prospective: Amps,
    holder: Option<(Name, FuseHolder)>,
    holder_largest: Amps,
    resistance: Ohms,
    on_post: bool,
}

impl Builder<'_> {
    /// Lays a run: enters its circuit, fuses, conductors and reasons.
    pub fn lay(&mut self, settings: &Settings, run: Run) -> CircuitIx {
        let id = run.id.clone();
        let carry = run.steady * run.factor.0;
        self.because(
            format!("{id}.current"),
            run.current_inputs.clone().because(run.steady, run.current_step.clone()),
        );

        let (pick, choice) = self.pick_fuse_and_conductor(settings, &run, carry);
        let circuit = self.circuit(Circuit {
            id: id.clone(),
            title: run.title.clone(),
            kind: run.kind,
            supply: Supply::Dc,
            voltage: run.voltage,
            voltage_lowest: run.voltage_lowest,
            current_steady: run.steady,
            current_surge: run.surge,
            continuous: run.continuous,
            critical: run.critical,
            drop_limit: run.drop_limit,
            protection_least: carry,
            protection: Vec::new(),
            serves: run.serves.clone(),
            intent: run.intent.clone(),
        });

        // Protection, source end first.
        let mut from_positive = run.from.0;
        let mut to_positive = run.to.0;
        let mut fuse_resistance = Ohms::zero();
        if let Some(pick) = &pick {
            let near = self.place_fuse(settings, &run, &format!("{id}.fuse"), pick, &run.guard);
            self.link(
                &format!("{id}.link"),
                run.from.0,
                self.at(near, "in"),
                Pole::Positive,
                choice.gauge,
                circuit,
            );
            from_positive = self.at(near, "out");
            fuse_resistance = pick.resistance;
            self.circuits[circuit].protection.push(near);
            if matches!(run.guard, Guard::BothEnds) {
                let far = self.place_fuse(settings, &run, &format!("{id}.fuse-far"), pick, &run.guard);
                // The far fuse's source is what stands at the far end.
                let (inner, outer) = (self.at(far, "out"), self.at(far, "in"));
                self.link(&format!("{id}.link-far"), inner, run.to.0, Pole::Positive, choice.gauge, circuit);
                to_positive = outer;
                fuse_resistance += pick.resistance;
                self.circuits[circuit].protection.push(far);
            }
        }

        let cores = 1;
        self.conductor(
            settings,
            &run,
            circuit,
            "positive",
            Pole::Positive,
            choice.gauge,
            (from_positive, to_positive),
            cores,
        );
        let negative = self.negative_gauge(&run, &choice);
        self.conductor(
            settings,
            &run,
            circuit,
            "negative",
            Pole::Negative,
            negative,
            (run.to.1, run.from.1),
            cores,
        );

        self.carry_loop(settings, &run, choice.gauge, fuse_resistance);
        circuit
    }

    fn pick_fuse_and_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
    ) -> (Option<FusePick>, ConductorChoice) {
        if matches!(run.guard, Guard::Limited) {
            let choice = self.choose_conductor(settings, run, carry, None, None);
            return (None, choice);
        }
        let path = format!("{}.fuse", run.id);
        let rating_pin: Option<Amps> = self.pin(&format!("{path}.rating"));
        let family_pin = self.pin_text(&format!("{path}.family"));
        let candidates = self.fuse_candidates(settings, run, carry, rating_pin, family_pin.as_deref());

        let mut refused = String::new();
        let mut picked = None;
        for candidate in candidates {
            if candidate.interrupt < candidate.prospective
                && family_pin.is_none()
                && !matches!(run.guard, Guard::Way { .. })
            {
                refused = format!(
                    "{} breaks {}, {} can flow",
                    candidate.family, candidate.interrupt, candidate.prospective
                );
                continue;
            }
            let holder_gauge = candidate.holder.as_ref().map(|(_, holder)| holder.max_gauge);
            match self.try_conductor(settings, run, carry, Some(candidate.rating), holder_gauge) {
                Ok(choice) => {
                    picked = Some((candidate, choice));
                    break;
                }
                Err(fault) => refused = fault,
            }
        }
        if let Some((pick, choice)) = picked {
            self.explain_fuse(run, &path, carry, &pick, rating_pin, &refused);
            let choice = self.finish_conductor(settings, run, carry, Some(pick.rating), choice);
            return (Some(pick), choice);
        }
        self.gap(
            &path,
            format!(
                "a fuse and holder of at least {carry} for {} that can break the fault current there, and whose holder \
                 and terminals take the conductor: {refused}",
                run.voltage
            ),
            &run.intent,
        );
        let choice = self.choose_conductor(settings, run, carry, None, None);
        (None, choice)
    }

    /// Fuses that carry the load, cheapest holder first.
    fn fuse_candidates(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        rating_pin: Option<Amps>,
        family_pin: Option<&str>,
    ) -> Vec<FusePick> {
        let source = self.source_loop.get(&run.from.0).copied().unwrap_or(settings.bank_loop);
        let far = self.source_loop.get(&run.to.0).copied();
        let voltage = run.voltage * (settings.voltage_high / settings.voltage);
        let highest = run.voltage * (settings.voltage_charging / settings.voltage);
        let prospective = |fuse: Ohms| {
            let near = voltage / (source + fuse) + settings.limited_sources;
            match (&run.guard, far) {
                (Guard::BothEnds, Some(far)) => near.max(voltage / (far + fuse) + settings.limited_sources),
                _ => near,
            }
        };
        let mut picks = Vec::new();
        let pick = |family: &reference::FuseFamily, largest: Amps, holder: Option<(Name, FuseHolder)>| {
            let rating = match rating_pin {
                Some(rating) => rating,
                None => sizing::fuse_rating(&family.ratings, carry)?,
            };
            if rating > largest && rating_pin.is_none() {
                return None;
            }
            let interrupt = family.interrupts(highest, false)?;
            let resistance = family.cold_resistance(rating);
            let on_post = holder.as_ref().is_some_and(|(_, holder)| holder.on_post == Some(true));
            Some(FusePick {
                family: family.id.clone(),
                rating,
                interrupt,
                prospective: prospective(resistance),
                holder,
                holder_largest: largest,
                resistance,
                on_post,
            })
        };
        if let Guard::Way { family, largest, .. } = &run.guard {
            if let Some(family) = self.reference.fuse_family(family_pin.unwrap_or(family)) {
                picks.extend(pick(family, *largest, None));
            }
            return picks;
        }
        let library = &self.project.library;
        let mut holders: Vec<(&Name, &FuseHolder)> = library
            .fuse_holder
            .iter()
            .filter(|(_, holder)| holder.voltage >= highest)
            .filter(|(_, holder)| family_pin.is_none_or(|family| holder.family.as_str() == family))
            .collect();
        holders.sort_by(|a, b| {
            crate::choose::price(a.1).total_cmp(&crate::choose::price(b.1)).then_with(|| a.0.cmp(b.0))
        });
        for (id, holder) in holders {
            let Some(family) = self.reference.fuse_family(holder.family.as_str()) else { continue };
            picks.extend(pick(family, holder.largest, Some((id.clone(), holder.clone()))));
        }
        // A fuse of more than twice what is asked protects little: such families come last, however cheap.
        picks.sort_by_key(|pick| pick.rating > carry.max(Amps::new(3.0)) * 2.0);
        picks
    }

    fn explain_fuse(
        &mut self,
        run: &Run,
        path: &str,
        carry: Amps,
        pick: &FusePick,
        rating_pin: Option<Amps>,
        refused: &str,
    ) {
        let derived = self
            .reference
            .fuse_family(&pick.family)
            .and_then(|family| sizing::fuse_rating(&family.ratings, carry))
            .map(|rating| rating.show());
        let inputs = Inputs::new()
            .with("steady current", run.steady, Origin::Derived(format!("{}.current", run.id)))
            .with("factor", run.factor.0, run.factor.1.clone());
        self.because_pinned(
            &format!("{path}.rating"),
            pick.rating.show(),
            derived,
            rating_pin.is_some(),
            format!("{} x {} = {carry}; the next rating of the family", run.steady, run.factor.0),
            inputs,
        );
        let mut inputs = Inputs::new().with(
            "largest fault current there",
            pick.prospective,
            Origin::Derived("bank.short-circuit".to_owned()),
        );
        if let Some(family) = self.reference.fuse_family(&pick.family) {
            inputs = inputs.with("interrupt rating", pick.interrupt, Origin::Table(family.cite.clone()));
        }
        let rejected =
            if refused.is_empty() { String::new() } else { format!("; cheaper ones fail: {refused}") };
        let is_pinned = self.pinned.contains_key(&format!("{path}.family"));
        self.because_pinned(
            &format!("{path}.family"),
            pick.family.clone(),
            None,
            is_pinned,
            format!("breaks {} where {} can flow{rejected}", pick.interrupt, pick.prospective),
            inputs,
        );
    }

    fn place_fuse(
        &mut self,
        settings: &Settings,
        run: &Run,
        id: &str,
        pick: &FusePick,
        guard: &Guard,
    ) -> DeviceIx {
        let (panel, zone) = match guard {
            Guard::Way { panel, .. } => (Some(*panel), self.devices[*panel].zone),
            _ => (None, if run.kind == CircuitKind::Engine { run.zone } else { settings.board_zone }),
        };
        let holder = pick.holder.as_ref().map(|(_, holder)| holder);
        let stud = holder.and_then(|holder| holder.stud);
        let max_gauge = match (holder, panel) {
            (Some(holder), _) => Some(holder.max_gauge),
            (None, Some(panel)) => match &self.devices[panel].spec {
                Spec::FusePanel(panel) => Some(panel.max_gauge),
                _ => None,
            },
            _ => None,
        };
        // A holder that is not on the source's own stud sits beside it, inside the distance both rule sets allow bare.
        let distance = if panel.is_some() || pick.on_post { Metres::zero() } else { Metres::new(0.15) };
        let fuse = Fuse {
            family: pick.family.clone(),
            rating: pick.rating,
            voltage: run.voltage,
            interrupt: pick.interrupt,
            holder_largest: pick.holder_largest,
            distance,
            panel,
        };
        let device = self.device(
            id,
            &format!("{} fuse", run.title),
            Spec::Fuse(fuse),
            vec![
                terminal("in", Pole::Positive, stud, max_gauge),
                terminal("out", Pole::Positive, stud, max_gauge),
            ],
            zone,
            &run.intent,
        );
        if let Some((name, holder)) = &pick.holder {
            self.is_part(device, "fuse_holder", name, holder);
        }
        device
    }

    /// What the conductor of a run is asked.
    fn ask(
        &self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        protection: Option<Amps>,
        holder: Option<Gauge>,
    ) -> ConductorAsk {
        let ends = [self.max_gauge(run.from.0), self.max_gauge(run.to.0), holder];
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
        let least = self.reference.min_gauge(settings.rules, run.sheathed, false).value;
        ConductorAsk {
            rules: settings.rules,
            current: carry,
            protection,
            voltage: run.voltage,
            drop_current: run.drop_current,
            drop_limit: run.drop_limit,
            length: run.length.value,
            insulation: settings.insulation,
            tinned: settings.tinned,
            place: self.place(run.zone, run.bundle, run.voltage),
            smallest: settings.smallest.map_or(least, |smallest| smallest.max(least)),
            largest: ends.into_iter().flatten().min(),
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

    fn try_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        protection: Option<Amps>,
        holder: Option<Gauge>,
    ) -> Result<ConductorChoice, String> {
        let ask = self.ask(settings, run, carry, protection, holder);
        sizing::conductor_with(&ask, &mut |gauge| self.ampacity(&ask, gauge)).map_err(|none| none.need)
    }

    /// Ampacity, looked up once for each size and place.
    pub fn ampacity(&self, ask: &ConductorAsk, gauge: Gauge) -> Result<Cited<Amps>, reference::OutOfTable> {
        self.ampacities.look_up(ask.rules, gauge, ask.insulation, &ask.place)
    }

    /// A conductor whatever the terminals say; what does not fit becomes a gap.
    fn choose_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        protection: Option<Amps>,
        holder: Option<Gauge>,
    ) -> ConductorChoice {
        let choice = match self.try_conductor(settings, run, carry, protection, holder) {
            Ok(choice) => choice,
            Err(need) => {
                self.gap(&format!("{}.positive.gauge", run.id), need, &run.intent);
                let ask = ConductorAsk { largest: None, ..self.ask(settings, run, carry, protection, None) };
                sizing::conductor_with(&ask, &mut |gauge| self.ampacity(&ask, gauge)).unwrap_or_else(|_| {
                    let gauge =
                        self.reference.gauges(settings.rules).last().copied().unwrap_or(Gauge::Awg(-3));
                    self.measured(&ask, gauge)
                })
            }
        };
        self.finish_conductor(settings, run, carry, protection, choice)
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
    fn finish_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
        protection: Option<Amps>,
        derived: ConductorChoice,
    ) -> ConductorChoice {
        let path = format!("{}.positive.gauge", run.id);
        let pin: Option<Gauge> = self.pin(&path);
        let ask = self.ask(settings, run, carry, protection, None);
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
        if let Some(protection) = protection {
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

    fn negative_gauge(&mut self, run: &Run, positive: &ConductorChoice) -> Gauge {
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
    fn conductor(
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

    /// Carries the cold loop resistance from the run's source to its end, for the fault currents further on.
    fn carry_loop(&mut self, settings: &Settings, run: &Run, gauge: Gauge, fuse: Ohms) {
        if matches!(run.kind, CircuitKind::Branch | CircuitKind::Array | CircuitKind::Charge) {
            return;
        }
        let source = self.source_loop.get(&run.from.0).copied().unwrap_or(settings.bank_loop);
        let coldest = self.zones[run.zone].coldest;
        let cable = sizing::loop_resistance(gauge, settings.tinned, run.length.value, coldest)
            .unwrap_or(Ohms::zero());
        self.source_loop.entry(run.to.0).or_insert(source + fuse + cable);
    }
}
