//! Quick answers about conductors and fuses.
//! Never: has a formula of its own; see `derive::sizing` and `reference`.
//! Start at any function; each answers one question.

use derive::sizing::{self, ConductorAsk};
use quantity::{Celsius, Gauge, SquareAmpSeconds, Volts, Written};
use reference::{FuseOrBreaker, Insulation, PartValue, Place, Reference, RuleSet, SystemVoltage};

use super::words::{AmpacityArgs, ConductorArgs, DropArgs, FuseArgs, GaugeArgs, PlaceArgs};
use super::{Reply, outside};
use crate::answer::Failure;

/// Voltage from which the rules for 50 V and over hold.
const OVER_50: f64 = 50.0;

fn insulation(place: &PlaceArgs) -> Insulation {
    place.insulation.unwrap_or(match place.rules.rules() {
        RuleSet::Na => Insulation::C105,
        RuleSet::Iec => Insulation::C90,
    })
}

fn place(args: &PlaceArgs, voltage: Volts) -> Place {
    Place {
        ambient: args.ambient,
        engine_space: args.engine_space,
        bundled_current_carrying: args.bundle,
        system: match args.ac {
            true => SystemVoltage::Ac,
            false if voltage.get() >= OVER_50 => SystemVoltage::Over50,
            false => SystemVoltage::Under50,
        },
    }
}

fn where_it_runs(args: &PlaceArgs) -> String {
    let engine = if args.engine_space { ", engine space" } else { "" };
    format!("{} insulation, {} air{engine}, {} together", insulation(args), args.ambient, args.bundle)
}

/// The smallest conductor that does.
pub(super) fn conductor(args: &ConductorArgs) -> Result<Reply, Failure> {
    let reference = Reference::standard();
    let rules = args.place.rules.rules();
    let limit = reference.drop_limit(rules, args.critical, args.place.ac);
    let drop_limit = args.drop.unwrap_or(limit.value);
    let factor = reference.continuous_factor(rules);
    let current = if args.continuous { args.current * factor.value } else { args.current };
    let least = reference.min_gauge(rules, false, args.place.ac);
    let ask = ConductorAsk {
        rules,
        current,
        protection: args.fuse,
        voltage: args.voltage,
        drop_current: args.current,
        drop_limit,
        length: args.length,
        insulation: insulation(&args.place),
        tinned: args.tinned,
        place: place(&args.place, args.voltage),
        smallest: least.value,
        largest: None,
        withstand: SquareAmpSeconds::zero(),
    };
    let choice = sizing::conductor(&ask).map_err(|none| {
        Failure::plain(
            format!("no conductor of the tables does: it takes {}", none.need),
            "",
            "Allow more drop, shorten the run, raise the voltage, use hotter-rated insulation, or lay two in parallel",
        )
    })?;
    let mut reply = Reply::default();
    reply.value("conductor", choice.gauge.show());
    reply.value("carries", choice.ampacity.value);
    reply.value("lost", format!("{} ({:.1} %)", choice.drop, 100.0 * (choice.drop / args.voltage)));
    reply.value("lost as heat", args.current * choice.drop);
    let most = reference.max_protection(rules, ask.place.system, choice.ampacity.value);
    let fuse = reference.next_standard_rating(rules, FuseOrBreaker::Fuse, current).map_err(outside)?;
    if fuse.value <= most.value * (1.0 + 1e-9) {
        reply.value("fuse for the load", fuse.value);
    }
    reply.value("largest fuse", most.value);
    if args.continuous {
        reply.because(format!("{} x {} = {current} to carry, as continuous", args.current, factor.value));
        reply.cite(&factor.cite);
    }
    reply.because(format!(
        "{}: {} ({})",
        choice.gauge.show(),
        choice.ampacity.value,
        where_it_runs(&args.place)
    ));
    reply.because(format!(
        "{} x 2 x {} with the metal at {} loses {}; {} of {} allowed",
        args.current,
        args.length,
        choice.temperature,
        choice.drop,
        drop_limit * args.voltage,
        args.voltage
    ));
    if choice.smaller_fails.is_empty() {
        reply.because("the smallest size that the rule set allows");
        reply.cite(&least.cite);
    } else {
        reply.because(format!("the next smaller will not do: {}", choice.smaller_fails));
    }
    reply.cite(&choice.ampacity.cite);
    if args.drop.is_none() {
        reply.cite(&limit.cite);
    }
    reply.cite(&most.cite);
    Ok(reply)
}

/// The largest fuse that protects a conductor, and the one for a load.
pub(super) fn fuse(args: &FuseArgs) -> Result<Reply, Failure> {
    let reference = Reference::standard();
    let rules = args.place.rules.rules();
    let place = place(&args.place, args.voltage);
    let ampacity =
        reference.ampacity(rules, args.conductor, insulation(&args.place), &place).map_err(outside)?;
    let most = reference.max_protection(rules, place.system, ampacity.value);
    let ratings = reference.standard_ratings(rules, FuseOrBreaker::Fuse);
    let largest = ratings.iter().rev().find(|rating| **rating <= most.value * (1.0 + 1e-9));
    let mut reply = Reply::default();
    match largest {
        Some(largest) => reply.value("largest standard fuse", largest),
        None => reply.value("largest standard fuse", "none is small enough"),
    };
    reply.value("limit for this conductor", most.value);
    reply.value("it carries", ampacity.value);
    reply.because(format!("{}: {} ({})", args.conductor.show(), ampacity.value, where_it_runs(&args.place)));
    reply.because(format!("protection at most {} for {} of ampacity", most.value, ampacity.value));
    if let Some(current) = args.current {
        let factor = reference.continuous_factor(rules);
        let least = if args.continuous { current * factor.value } else { current };
        let fuse = reference.next_standard_rating(rules, FuseOrBreaker::Fuse, least).map_err(outside)?;
        reply.value("fuse for the load", fuse.value);
        let continuous =
            if args.continuous { format!(" x {} as continuous", factor.value) } else { String::new() };
        reply.because(format!("{current}{continuous} = {least}; the next standard rating is {}", fuse.value));
        if fuse.value > most.value {
            reply.note(format!("{} does not protect this conductor; take a larger conductor", fuse.value));
        }
        if args.continuous {
            reply.cite(&factor.cite);
        }
        reply.cite(&fuse.cite);
    }
    reply.cite(&ampacity.cite).cite(&most.cite);
    reply.note("The fuse must also break the fault current at its place; `wattwain ask fault` tells it.");
    Ok(reply)
}

/// Volts lost along a run and back.
pub(super) fn drop(args: &DropArgs) -> Result<Reply, Failure> {
    let mut reply = Reply::default();
    let lost = match (args.conductor, args.per_length) {
        (Some(gauge), _) => {
            let (lost, because) =
                sizing::drop(args.current, gauge, args.tinned, args.length, args.metal).map_err(outside)?;
            reply.because(because.step);
            for input in because.inputs {
                if let model::Origin::Table(cite) = input.origin {
                    reply.cite(&cite);
                }
            }
            lost
        }
        (None, per_length) => {
            let per_length = per_length.unwrap_or_default();
            let lost = args.current * (per_length * (args.length * 2.0));
            reply.because(format!("{} x 2 x {} x {} = {lost}", args.current, args.length, per_length));
            lost
        }
    };
    reply.values.insert(0, super::Value { what: "lost".to_owned(), value: lost.to_string() });
    reply.value("of the voltage", format!("{:.2} %", 100.0 * (lost / args.voltage)));
    reply.value("left at the load", args.voltage - lost);
    reply.value("lost as heat", args.current * lost);
    if lost >= args.voltage {
        reply.note("More is lost than there is: this run cannot carry this current.");
    }
    Ok(reply)
}

/// What a conductor may carry.
pub(super) fn ampacity(args: &AmpacityArgs) -> Result<Reply, Failure> {
    let reference = Reference::standard();
    let rules = args.place.rules.rules();
    let place = place(&args.place, args.voltage);
    let rating = insulation(&args.place);
    let ampacity = reference.ampacity(rules, args.conductor, rating, &place).map_err(outside)?;
    let parts = reference.ampacity_parts(rules, args.conductor, rating, &place).map_err(outside)?;
    let mut reply = Reply::default();
    reply.value("carries", ampacity.value);
    let most = reference.max_protection(rules, place.system, ampacity.value);
    reply.value("largest fuse", most.value);
    for part in &parts {
        let value = match part.value {
            PartValue::Base(amps) => amps.to_string(),
            PartValue::Factor(factor) => format!("x {factor:.3}"),
            PartValue::Cap(amps) => format!("at most {amps}"),
        };
        reply.because(format!("{}: {value}", part.label)).cite(&part.cite);
    }
    reply.cite(&most.cite);
    if args.place.ac
        && rules == RuleSet::Na
        && let Some(cap) = reference.small_conductor_cap(args.conductor)
    {
        reply.value("largest breaker for a small conductor", cap.value).cite(&cap.cite);
    }
    Ok(reply)
}

/// A size in the other series.
pub(super) fn gauge(args: &GaugeArgs) -> Result<Reply, Failure> {
    let size = args.size;
    let mut reply = Reply::default();
    reply.value("metal", format!("{:.2} mm²", size.area().get()));
    reply.value("as a solid wire", format!("{:.2} mm across", size.diameter().get() * 1000.0));
    reply.value("circular mils", format!("{:.0}", size.circular_mils()));
    let (next, series) = match size {
        Gauge::Awg(_) => (size.nearest_metric_not_smaller(), "metric"),
        Gauge::Metric(_) => (size.nearest_awg_not_smaller(), "AWG"),
    };
    match next {
        Some(next) => reply.value(
            format!("{series} with at least as much"),
            format!("{} ({} more metal)", next.size.show(), next.excess),
        ),
        None => {
            reply.value(format!("{series} with at least as much"), "none in common use; lay two in parallel")
        }
    };
    for (what, tinned) in [("resistance, plain", false), ("resistance, tinned", true)] {
        if let Ok(cited) = Reference::standard().resistance(size, tinned, Celsius::new(20.0)) {
            reply.value(what, format!("{} at 20 °C", cited.value)).cite(&cited.cite);
        }
    }
    if let Gauge::Awg(number) = size {
        reply
            .because(format!("ASTM B258: d = 0.127 mm x 92^({}/39), area = pi/4 d²", 36 - i32::from(number)));
    } else {
        reply.because("the nominal cross-section; IEC 60228 fixes the resistance, not the area");
    }
    reply.note(
        "AWG and mm² are different series, and no size of one equals one of the other. \
         \"Gauge\" on vehicle cable often means SAE J1127/J1128 gauge, which holds about 6 to 12 % less metal than AWG of the same number (from memory).",
    );
    if size.area().get() > 10.0 {
        reply.note("Measure the metal, not the insulation: cheap cable is thick outside.");
    }
    Ok(reply)
}
