//! Choosing and placing the fuses of a run, together with the conductor that they protect.
//! Never: takes a fuse that cannot break its fault; where none can, that is a gap.
//! Start at [`Builder::pick_fuse_and_conductor`].

use model::parts::FuseHolder;
use model::{CircuitKind, DeviceIx, Fuse, Inputs, Name, Origin, Pole, Spec};
use quantity::{Amps, Metres, Ohms, Volts, Written};

use crate::builder::{Builder, terminal};
use crate::settings::Settings;
use crate::sizing::{self, ConductorChoice};

use crate::run::{Guard, Run};

/// Length of the conductor from a source to a fuse holder beside it: under the 7 in and 200 mm that the rule sets allow.
pub fn jumper_length() -> Metres {
    Metres::new(0.15)
}

/// A fuse with its holder.
#[derive(Clone, Debug)]
pub struct FusePick {
    pub family: String,
    pub rating: Amps,
    pub interrupt: Amps,
    /// Highest voltage at which the family may be used.
    pub voltage: Volts,
    pub prospective: Amps,
    /// What the rule set asks for there, where that is more than can flow.
    pub asked: Option<reference::Cite>,
    pub holder: Option<(Name, FuseHolder)>,
    pub holder_largest: Amps,
    pub resistance: Ohms,
    pub on_post: bool,
}

impl Builder<'_> {
    pub fn pick_fuse_and_conductor(
        &mut self,
        settings: &Settings,
        run: &Run,
        carry: Amps,
    ) -> (Option<FusePick>, ConductorChoice) {
        if matches!(run.guard, Guard::Limited) {
            let choice = self.choose_conductor(settings, run, carry, None);
            return (None, choice);
        }
        let path = format!("{}.fuse", run.id);
        let rating_pin: Option<Amps> = self.pin(&format!("{path}.rating"));
        let family_pin = self.pin_text(&format!("{path}.family"));
        let candidates = self.fuse_candidates(settings, run, carry, rating_pin, family_pin.as_deref());

        let mut refused = String::new();
        let mut picked = None;
        // The first that breaks the fault: it stays even where no conductor does all that is asked.
        let mut breaking = None;
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
            match self.try_conductor(settings, run, carry, Some(&candidate)) {
                Ok(choice) => {
                    picked = Some((candidate, choice));
                    break;
                }
                Err(fault) => {
                    refused = fault;
                    breaking.get_or_insert(candidate);
                }
            }
        }
        if let (None, Some(pick)) = (&picked, &breaking) {
            self.explain_fuse(run, &path, carry, pick, rating_pin, "");
            let choice = self.choose_conductor(settings, run, carry, Some(pick));
            return (breaking, choice);
        }
        if let Some((pick, choice)) = picked {
            self.explain_fuse(run, &path, carry, &pick, rating_pin, &refused);
            let choice = self.finish_conductor(settings, run, carry, Some(&pick), choice);
            return (Some(pick), choice);
        }
        self.gap(
            &path,
            format!(
                "a fuse and holder of at least {carry} for {} that can break the fault current there: {refused}",
                run.voltage
            ),
            &run.intent,
        );
        let choice = self.choose_conductor(settings, run, carry, None);
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
        // Prospective: as if a link without resistance stood in place of the fuse (IEC 60050-441, 441-17-01).
        let near = voltage / source + settings.limited_sources;
        let prospective = match (&run.guard, far) {
            (Guard::BothEnds, Some(far)) => near + voltage / far,
            _ => near,
        };
        let is_lithium = settings.is_lithium;
        let required = self.reference.interrupt_required(
            settings.rules,
            is_lithium,
            settings.capacity,
            prospective,
            run.kind == CircuitKind::Main,
        );
        let asked =
            (run.kind == CircuitKind::Main && required.value > prospective).then(|| required.cite.clone());
        let prospective =
            if run.kind == CircuitKind::Main { required.value } else { required.value.min(prospective) };
        let mut picks = Vec::new();
        let pick = |family: &reference::FuseFamily, largest: Amps, holder: Option<(Name, FuseHolder)>| {
            let rating = match rating_pin {
                Some(rating) => rating,
                None => sizing::fuse_rating_for(family, carry, run.surge)?,
            };
            if rating > largest && rating_pin.is_none() {
                return None;
            }
            let interrupt = family.interrupts(highest, false)?;
            let voltage = family.voltage_rating(false)?;
            let resistance = family.cold_resistance(rating);
            let on_post = holder.as_ref().is_some_and(|(_, holder)| holder.on_post == Some(true));
            Some(FusePick {
                family: family.id.clone(),
                rating,
                interrupt,
                voltage,
                prospective,
                asked: asked.clone(),
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
            // Fuses for solar strings do not break small overloads: they are for strings alone.
            .filter(|(_, holder)| {
                run.kind == CircuitKind::Array || holder.family.as_str() != "pv-cylindrical"
            })
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
        picks.sort_by_key(|pick| sizing::is_coarse(pick.rating, carry, run.surge));
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
            .and_then(|family| sizing::fuse_rating_for(family, carry, run.surge))
            .map(|rating| rating.show());
        let inputs = Inputs::new()
            .with("steady current", run.steady, Origin::Derived(format!("{}.current", run.id)))
            .with("factor", run.factor.0, run.factor.1.clone())
            .with("while starting", run.surge, Origin::Derived(format!("{}.current", run.id)));
        self.because_pinned(
            &format!("{path}.rating"),
            pick.rating.show(),
            derived,
            rating_pin.is_some(),
            format!(
                "{} x {} = {carry}; the next rating of the family that holds the start of {}",
                run.steady, run.factor.0, run.surge
            ),
            inputs,
        );
        let from_bank = Origin::Derived("bank.short-circuit".to_owned());
        let mut inputs = match &pick.asked {
            // More than can flow: the table asks for it, whatever the sheet says.
            Some(cite) => Inputs::new()
                .with("interrupting capacity asked for", pick.prospective, Origin::Table(cite.clone()))
                .with("the bank's own short circuit", "less", from_bank),
            None => Inputs::new().with("largest fault current there", pick.prospective, from_bank),
        };
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
            if pick.asked.is_some() {
                format!("breaks {}, {} is asked for{rejected}", pick.interrupt, pick.prospective)
            } else {
                format!("breaks {} where {} can flow{rejected}", pick.interrupt, pick.prospective)
            },
            inputs,
        );
    }

    pub fn place_fuse(
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
        let jumper = id.replace(".fuse", ".jumper");
        let distance = if panel.is_some() || pick.on_post {
            Metres::zero()
        } else {
            self.measured.whole.get(&jumper).copied().unwrap_or_else(jumper_length)
        };
        let fuse = Fuse {
            family: pick.family.clone(),
            rating: pick.rating,
            voltage: pick.voltage,
            interrupt: pick.interrupt,
            holder_largest: pick.holder_largest,
            distance,
            panel,
        };
        let device = self.device(
            id,
            &format!("{} fuse{}", run.title, if id.ends_with("-far") { " at its far end" } else { "" }),
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
}
