//! Laying an alternating-current run: its breaker and the three cores of its sheath.
//! Never: knows what the run is for; the callers say that in an [`AcRun`].
//! Start at [`lay`].

use model::parts::{Breaker, Supply};
use model::{BreakerAt, Circuit, CircuitKind, DeviceIx, Inputs, Name, Origin, Pole, Spec, TerminalRef};
use quantity::{Amps, Fraction, Gauge, Metres, SquareAmpSeconds, Written};
use reference::{Insulation, Place, RuleSet, SystemVoltage};

use crate::ac_panel::poles;
use crate::builder::{Builder, Given, terminal};
use crate::choose;
use crate::settings::Settings;
use crate::sizing::{self, ConductorAsk};

/// Line, neutral and earth of one place.
#[derive(Clone, Copy, Debug)]
pub struct Ends {
    pub line: TerminalRef,
    pub neutral: TerminalRef,
    pub earth: Option<TerminalRef>,
}

/// An AC run to lay.
pub struct AcRun {
    pub id: String,
    pub title: String,
    pub kind: CircuitKind,
    pub steady: Amps,
    pub surge: Amps,
    pub continuous: bool,
    pub from: Ends,
    pub to: Ends,
    pub length: Given<Metres>,
    pub zone: usize,
    pub drop_limit: f64,
    /// Rating of the device ahead, and whether a breaker is placed here at the source end.
    pub breaker: Option<BreakerWish>,
    /// Rating of what protects it upstream, where no breaker is placed.
    pub upstream: Option<Amps>,
    pub intent: String,
    pub step: String,
    pub serves: Vec<DeviceIx>,
}

pub struct BreakerWish {
    pub least: Amps,
    /// The rating that a supply dictates (an inlet), rather than the next above the load.
    pub exact: bool,
    pub residual: bool,
    pub panel: Option<DeviceIx>,
    pub role: &'static str,
}

/// Chooses and places a breaker.
pub fn breaker(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &str,
    title: &str,
    wish: &BreakerWish,
    intent: &str,
) -> Option<DeviceIx> {
    let library = &builder.project.library.breaker;
    let path = format!("{id}.part");
    let pin = builder.pin_part(&path, library, "breaker").map(|(id, part)| (id.clone(), part.clone()));
    let least_poles = if wish.role == "main" { 2 } else { poles(settings.rules) };
    let smallest = match settings.rules {
        RuleSet::Na => Amps::new(15.0),
        RuleSet::Iec => Amps::new(6.0),
    };
    let wanted = wish.least.max(if wish.exact { Amps::zero() } else { smallest });
    let fits = |part: &Breaker| {
        part.rules.is_none_or(|rules| rules == settings.rules)
            && part.ac_voltage.is_some_and(|voltage| voltage >= settings.ac_voltage)
            && (part.poles == least_poles || (wish.residual && part.poles >= poles(settings.rules)))
            && part.residual.is_some() == wish.residual
    };
    // The smallest rating that carries the load, or for an inlet the largest that does not exceed it.
    let mut candidates: Vec<(&Name, &Breaker)> = library.iter().filter(|(_, part)| fits(part)).collect();
    candidates.sort_by(|a, b| {
        a.1.current
            .total_cmp(&b.1.current)
            .then_with(|| choose::price(a.1).total_cmp(&choose::price(b.1)))
            .then_with(|| a.0.cmp(b.0))
    });
    let pick = if wish.exact {
        let best = candidates
            .iter()
            .rev()
            .find(|(_, part)| part.current <= wanted * 1.001)
            .map(|(_, part)| part.current);
        candidates.iter().find(|(_, part)| Some(part.current) == best).copied()
    } else {
        candidates.iter().find(|(_, part)| part.current >= wanted * 0.999).copied()
    };
    let derived = pick.map(|(id, _)| id.to_string());
    let need = format!(
        "a {}-pole {}breaker of {wanted} at {}",
        if wish.residual { poles(settings.rules) } else { least_poles },
        if wish.residual { "residual-current " } else { "" },
        settings.ac_voltage
    );
    let chosen = pin.clone().or_else(|| pick.map(|(id, part)| (id.clone(), part.clone())));
    let Some((part_id, part)) = chosen else {
        builder.gap(&path, need, intent);
        return None;
    };
    let (stud, most) = (part.stud, Some(part.max_gauge));
    let mut terminals = vec![terminal("in", Pole::Line, stud, most), terminal("out", Pole::Line, stud, most)];
    if part.poles >= 2 || part.residual.is_some() {
        terminals.push(terminal("in-neutral", Pole::Neutral, stud, most));
        terminals.push(terminal("out-neutral", Pole::Neutral, stud, most));
    }
    if wish.exact {
        // A supply's main breaker has an enclosure of its own, with an earth bar for the sheath's third core.
        terminals.push(terminal("earth", Pole::Earth, None, most));
    }
    let zone = wish.panel.map_or(settings.board_zone, |panel| builder.devices[panel].zone);
    let at = BreakerAt {
        part: part.clone(),
        distance: Metres::zero(),
        panel: wish.panel,
        role: wish.role.to_owned(),
    };
    let device = builder.device(id, title, Spec::Breaker(at), terminals, zone, intent);
    builder.is_part(device, "breaker", &part_id, &part);
    builder.because_pinned(
        &path,
        part_id.to_string(),
        derived,
        pin.is_some(),
        if wish.exact {
            format!("the largest that does not exceed the supply: {need}")
        } else {
            format!("the smallest that carries the load: {need}")
        },
        Inputs::new().with(
            "current",
            wish.least,
            Origin::Derived(format!(
                "{}.current",
                id.trim_end_matches(".breaker").trim_end_matches(".residual")
            )),
        ),
    );
    Some(device)
}

impl Builder<'_> {
    pub fn breaker_rating(&self, device: DeviceIx) -> Amps {
        match &self.devices[device].spec {
            Spec::Breaker(breaker) => breaker.part.current,
            _ => Amps::zero(),
        }
    }

    pub fn neutral_of(&self, device: DeviceIx, is_in: bool) -> Option<TerminalRef> {
        let name = if is_in { "in-neutral" } else { "out-neutral" };
        let terminal = self.devices[device].terminals.iter().position(|terminal| terminal.name == name)?;
        Some(TerminalRef { device, terminal })
    }
}

/// Lays an AC run: three cores of one sheath, with its breaker at the source end.
pub fn lay(builder: &mut Builder<'_>, settings: &Settings, mut run: AcRun) -> usize {
    let id = run.id.clone();
    run.length = builder.run_length(&id, ["line", "neutral"], run.length);
    builder.because(format!("{id}.current"), Inputs::new().because(run.steady, run.step.clone()));
    let circuit = builder.circuit(Circuit {
        id: id.clone(),
        title: run.title.clone(),
        kind: run.kind,
        supply: Supply::Ac,
        voltage: settings.ac_voltage,
        voltage_lowest: settings.ac_voltage,
        current_steady: run.steady,
        current_surge: run.surge,
        continuous: run.continuous,
        critical: true,
        drop_limit: Fraction::new(run.drop_limit),
        protection_least: run.breaker.as_ref().map_or(run.steady, |wish| wish.least),
        protection: Vec::new(),
        serves: run.serves.clone(),
        intent: run.intent.clone(),
    });
    let mut from = run.from;
    let mut links = Vec::new();
    let mut rating = run.upstream.unwrap_or(run.steady);
    if let Some(wish) = &run.breaker {
        let suffix = if wish.residual { "residual" } else { "breaker" };
        let title =
            format!("{} {}", run.title, if wish.residual { "residual-current breaker" } else { "breaker" });
        if let Some(device) = breaker(builder, settings, &format!("{id}.{suffix}"), &title, wish, &run.intent)
        {
            rating = builder.breaker_rating(device);
            builder.circuits[circuit].protection.push(device);
            let line_in = builder.at(device, "in");
            links.push((format!("{id}.link"), from.line, line_in, Pole::Line));
            if let (Some(neutral_in), Some(neutral_out)) =
                (builder.neutral_of(device, true), builder.neutral_of(device, false))
            {
                links.push((format!("{id}.link-neutral"), from.neutral, neutral_in, Pole::Neutral));
                from.neutral = neutral_out;
            }
            from.line = builder.at(device, "out");
        }
    }
    // AC cable: three cores in one sheath, with the insulation that such cable has.
    let insulation = match settings.rules {
        RuleSet::Na => Insulation::C105,
        RuleSet::Iec => Insulation::C70,
    };
    let zone = &builder.zones[run.zone];
    let place = Place {
        ambient: zone.hottest,
        engine_space: zone.kind == model::ZoneKind::EngineSpace,
        bundled_current_carrying: 2,
        system: SystemVoltage::Ac,
    };
    let reference = builder.reference;
    let least = reference.min_gauge(settings.rules, true, true).value;
    // NEC 240.4(D): a small conductor may not stand behind a larger breaker, whatever its ampacity.
    let capped = match settings.rules {
        RuleSet::Na => reference
            .gauges(settings.rules)
            .iter()
            .copied()
            .find(|gauge| reference.small_conductor_cap(*gauge).is_none_or(|cap| cap.value >= rating))
            .unwrap_or(least),
        RuleSet::Iec => least,
    };
    let ends = [builder.max_gauge(from.line), builder.max_gauge(run.to.line)];
    let ask = ConductorAsk {
        rules: settings.rules,
        current: run.steady,
        protection: Some(rating),
        voltage: settings.ac_voltage,
        drop_current: run.steady,
        drop_limit: Fraction::new(run.drop_limit),
        length: run.length.value,
        insulation,
        tinned: false,
        place,
        smallest: least.max(capped),
        largest: ends.into_iter().flatten().min(),
        withstand: SquareAmpSeconds::zero(),
    };
    let path = format!("{id}.line.gauge");
    let pin: Option<Gauge> = builder.pin(&path);
    let derived = sizing::conductor_with(&ask, &mut |gauge| builder.ampacity(&ask, gauge));
    let (derived_gauge, step, cite) = match derived {
        Ok(choice) => (
            choice.gauge,
            format!(
                "carries {} of {}; behind {rating}; loses {} ({:.1} %)",
                run.steady,
                choice.ampacity.value,
                choice.drop,
                100.0 * (choice.drop / settings.ac_voltage)
            ),
            Some((choice.ampacity.value, choice.ampacity.cite)),
        ),
        Err(none) => match builder.largest_that_fits(&ask) {
            // It carries the current and loses too much: the rules say so.
            Some(choice) => (choice.gauge, none.need, Some((choice.ampacity.value, choice.ampacity.cite))),
            None => {
                builder.gap(&path, none.need.clone(), &run.intent);
                (least.max(capped), none.need, None)
            }
        },
    };
    let gauge = pin.unwrap_or(derived_gauge);
    let mut inputs = Inputs::new()
        .with("current", run.steady, Origin::Derived(format!("{id}.current")))
        .with("length, one way", run.length.value, run.length.origin.clone());
    if let Some((ampacity, cite)) = cite {
        inputs = inputs.with("ampacity there", ampacity, Origin::Table(cite));
    }
    builder.because_pinned(&path, gauge.show(), Some(derived_gauge.show()), pin.is_some(), step, inputs);
    for (id, a, b, pole) in links {
        builder.link(&id, a, b, pole, gauge, circuit);
    }
    let cable = choose::cable(&builder.project.library, gauge, 3, insulation, false, settings.ac_voltage);
    let mut poles = vec![
        ("line", Pole::Line, from.line, run.to.line),
        ("neutral", Pole::Neutral, from.neutral, run.to.neutral),
    ];
    if let (Some(a), Some(b)) = (run.from.earth, run.to.earth) {
        poles.push(("earth", Pole::Earth, a, b));
    }
    for (name, pole, a, b) in poles {
        builder.push_conductor(
            format!("{id}.{name}"),
            (a, b),
            pole,
            (gauge, insulation, false),
            (run.length.value, run.zone, 2, true, 3),
            circuit,
            cable.clone(),
            &run.intent,
        );
    }
    circuit
}
