//! Quick answers about batteries and modules.
//! Never: has a formula of its own; see `derive::sizing`, `network` and `reference`.
//! Start at any function; each answers one question.

use derive::sizing;
use model::library;
use network::{Netlist, NodeId, solve};
use quantity::{Hours, Ohms, Volts, Written};
use reference::{Reference, RuleSet};

use super::words::{ChemistryWord, FaultArgs, RuntimeArgs, ShareArgs, StringArgs, TakeOff};
use super::{Reply, outside};
use crate::answer::Failure;

/// Hours at which the capacity of lead-acid batteries is rated.
const RATED: f64 = 20.0;

/// How long a bank lasts.
pub(super) fn runtime(args: &RuntimeArgs) -> Result<Reply, Failure> {
    let reference = Reference::standard();
    let key = args.chemistry.key();
    let current = match (args.current, args.load) {
        (Some(current), _) => current,
        (None, load) => load.unwrap_or_default() / args.voltage,
    };
    let chemistry = reference.chemistry(key).ok_or_else(|| no_figures(key))?;
    let usable = args.usable.unwrap_or(chemistry.usable);
    let exponent = reference.peukert(key).ok_or_else(|| no_figures(key))?;
    let rated = Hours::new(RATED);
    let time = |exponent: f64| sizing::run_time(args.capacity, rated, current, exponent);
    let spread = &exponent.value;
    let (typical, one, other) = (time(spread.typical), time(spread.least), time(spread.most));
    let mut reply = Reply::default();
    reply.value("usable part lasts", typical * usable.get());
    reply.value("until empty", typical);
    reply.value("plausible, until empty", format!("{} to {}", one.min(other), one.max(other)));
    if args.current.is_none() {
        reply.because(format!("{} / {} = {current}", args.load.unwrap_or_default(), args.voltage));
    }
    reply.because(format!(
        "Peukert: {rated} x ({} / ({current} x {rated}))^{} = {typical}",
        args.capacity, spread.typical
    ));
    reply.because(format!("{usable} of it to be used: {}", typical * usable.get()));
    reply.cite(&exponent.cite).cite(&chemistry.cite);
    if args.chemistry == ChemistryWord::Lfp {
        reply.note("Lithium hardly loses capacity at high current; the exponent is near 1.");
    } else {
        reply.note("Capacity is taken at the 20 h rate; cold takes more away.");
    }
    let c_rate = current.get() / args.capacity.get();
    if c_rate > chemistry.discharge_c_rate {
        reply.note(format!(
            "{current} is {c_rate:.2} times the capacity each hour; {} is the usual limit, and the maker's governs",
            chemistry.discharge_c_rate
        ));
    }
    Ok(reply)
}

/// Current into a dead short.
pub(super) fn fault(args: &FaultArgs) -> Result<Reply, Failure> {
    let reference = Reference::standard();
    let mut reply = Reply::default();
    let key = args.chemistry.key();
    let resistance = match (args.resistance, args.short_circuit) {
        (Some(resistance), _) => resistance,
        (None, Some(amps)) => {
            let resistance = args.voltage / amps;
            reply.because(format!("{} / {amps} = {resistance} in the bank", args.voltage));
            resistance
        }
        (None, None) => {
            let capacity = args.capacity.unwrap_or_default();
            let chemistry = reference.chemistry(key).ok_or_else(|| no_figures(key))?;
            let cells = (args.voltage / chemistry.nominal).round().max(1.0);
            let resistance = Ohms::new(chemistry.cell_resistance_ohm_ah * cells / capacity.get());
            reply.because(format!(
                "{cells} cells x {} Ω·Ah / {capacity} = {resistance} in the bank, typical of {key}",
                chemistry.cell_resistance_ohm_ah
            ));
            reply.cite(&chemistry.cite);
            reply.note(
                "The maker's short-circuit current, where the sheet gives one, is better than this figure.",
            );
            resistance
        }
    };
    let at_bank = sizing::fault_current(args.voltage, resistance, Ohms::zero());
    let loop_ = match (args.conductor, args.length) {
        (Some(gauge), Some(length)) => {
            let loop_ = sizing::loop_resistance(gauge, false, length, args.metal).map_err(outside)?;
            reply.because(format!("2 x {length} of {} at {} = {loop_}", gauge.show(), args.metal));
            let cited = reference.resistance(gauge, false, args.metal).map_err(outside)?;
            reply.cite(&cited.cite);
            loop_
        }
        _ => Ohms::zero(),
    };
    let there = sizing::fault_current(args.voltage, resistance, loop_);
    reply.because(format!("{} / ({resistance} + {loop_}) = {there}", args.voltage));
    reply.value("fault current there", there).value("at the bank's terminals", at_bank);
    let is_lithium = args.chemistry == ChemistryWord::Lfp;
    let capacity = args.capacity.unwrap_or_default();
    for rules in [RuleSet::Na, RuleSet::Iec] {
        if !is_lithium && args.capacity.is_none() && rules == RuleSet::Na {
            // Its table goes by the capacity.
            continue;
        }
        let needed = reference.interrupt_required(rules, is_lithium, capacity, at_bank, true);
        reply.value(format!("interrupt rating of the main fuse, {rules}"), needed.value);
        reply.cite(&needed.cite);
    }
    let breaks: Vec<&str> = reference
        .fuse_families()
        .iter()
        .filter(|family| family.interrupts(args.voltage, false).is_some_and(|amps| amps >= there))
        .map(|family| family.id.as_str())
        .collect();
    let breaks = if breaks.is_empty() { "none of the library".to_owned() } else { breaks.join(", ") };
    reply.value("families that break it there", breaks);
    Ok(reply)
}

/// How parallel batteries share.
pub(super) fn share(args: &ShareArgs) -> Result<Reply, Failure> {
    let mut net = Netlist::new();
    let count = args.batteries as usize;
    let posts = |net: &mut Netlist, pole: &str| -> Vec<NodeId> {
        (1..=count).map(|number| net.node(format!("battery {number} {pole}"))).collect()
    };
    let plus = posts(&mut net, "positive");
    let minus = posts(&mut net, "negative");
    // Every battery has the same voltage, so its value cancels out of the shares.
    let batteries: Vec<_> = plus
        .iter()
        .zip(&minus)
        .map(|(plus, minus)| net.emf(*plus, *minus, Volts::new(12.8), args.resistance))
        .collect();
    let ends = match args.take_off {
        TakeOff::Bars => {
            let bars = (net.node("positive bar"), net.node("negative bar"));
            for (plus, minus) in plus.iter().zip(&minus) {
                net.resistor(*plus, bars.0, args.link);
                net.resistor(*minus, bars.1, args.link);
            }
            Some(bars)
        }
        TakeOff::OneEnd | TakeOff::Diagonal => {
            for row in [&plus, &minus] {
                for pair in row.windows(2) {
                    net.resistor(pair[0], pair[1], args.link);
                }
            }
            let end = if args.take_off == TakeOff::Diagonal { minus.last() } else { minus.first() };
            plus.first().copied().zip(end.copied())
        }
    };
    let Some((from, to)) = ends else {
        return Err(Failure::plain("there is no battery", "--batteries", "Give 1 or more"));
    };
    net.current(from, to, args.current);
    let solved = solve(&net).map_err(|error| {
        Failure::plain(error.to_string(), "", "Give resistances of the same order, such as 3 mΩ and 0.3 mΩ")
    })?;
    let mean = args.current / f64::from(args.batteries);
    let mut reply = Reply::default();
    let mut most = 0.0_f64;
    for (index, battery) in batteries.iter().enumerate() {
        let amps = solved.amps(*battery);
        let off = amps / mean - 1.0;
        most = most.max(off.abs());
        reply.value(
            format!("battery {}", index + 1),
            format!(
                "{amps} ({:.1} % of all, {:+.1} % off the mean)",
                100.0 * (amps / args.current),
                100.0 * off
            ),
        );
    }
    let limit = Reference::standard().uneven_share();
    reply.because(format!(
        "the network of {} batteries of {} with {} a link, solved for {}",
        args.batteries, args.resistance, args.link, args.current
    ));
    reply.cite(&limit.cite);
    let verdict = if most > limit.value.get() {
        "uneven: take the poles off at opposite ends, or give each battery its own equal leads to busbars"
    } else {
        "even enough"
    };
    reply.note(format!("{verdict}; at most {} off the mean is taken as even", limit.value));
    Ok(reply)
}

/// Voltage of a string in the cold.
pub(super) fn solar_string(args: &StringArgs) -> Result<Reply, Failure> {
    let reference = Reference::standard();
    let mut reply = Reply::default();
    let part = match &args.module {
        Some(id) => {
            let modules = &library::builtin().module;
            let found = modules.iter().find(|(known, _)| known.as_str() == id);
            Some(found.map(|(_, part)| part).ok_or_else(|| {
                let mend = model::read::nearest(id, modules.keys().map(model::Name::as_str)).map_or_else(
                    || "`wattwain parts --kind module` lists them".to_owned(),
                    |near| format!("Did you mean `{near}`?"),
                );
                Failure::plain(format!("there is no module `{id}`"), "--module", mend)
            })?)
        }
        None => None,
    };
    let open = part.map_or_else(|| args.voc.unwrap_or_default(), |part| part.open_voltage);
    let voltage = match args.coefficient.or(part.map(|part| part.voltage_coefficient)) {
        Some(coefficient) => {
            let voltage = sizing::string_voltage(open, coefficient, args.series, args.coldest);
            reply.because(format!(
                "{} x {open} x (1 + {} x ({} - 25 °C)) = {voltage}",
                args.series,
                coefficient.show(),
                args.coldest
            ));
            voltage
        }
        None => {
            let factor = reference.voc_temperature_factor(args.coldest).map_err(outside)?;
            let voltage = open * f64::from(args.series) * factor.value;
            reply.because(format!("{} x {open} x {} = {voltage}", args.series, factor.value));
            reply.cite(&factor.cite);
            voltage
        }
    };
    reply.value("string at the coldest", voltage);
    reply.value("at 25 °C", open * f64::from(args.series));
    if let Some(limit) = args.limit {
        reply.value("of the controller's limit", format!("{:.0} %", 100.0 * (voltage / limit)));
        if voltage > limit {
            reply.note(format!(
                "{voltage} destroys a controller made for {limit}; put fewer modules in series"
            ));
        }
    }
    Ok(reply)
}

fn no_figures(key: &str) -> Failure {
    Failure::plain(
        format!("the tables have no figures for `{key}`"),
        "--chemistry",
        "Choose lfp, agm, gel or flooded",
    )
}
