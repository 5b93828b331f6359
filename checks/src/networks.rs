//! Small networks that a row may ask about: each is built here from the row's own figures and solved by `network`.
//! Never: computes a voltage or a current; that is what is being checked.
//! Start at [`call`].

use crate::{Answer, Inputs};
use network::{Netlist, NodeId, fault, solve};
use quantity::{Amps, Ohms, Volts};

/// Calls one of them; `None` where there is none of this name.
///
/// Errors: as [`crate::call`].
pub(crate) fn call(name: &str, of: &Inputs) -> Result<Option<Answer>, String> {
    Ok(Some(match name {
        "network.load_current" => of_one_load(of)?.0.into(),
        "network.load_voltage" => of_one_load(of)?.1.into(),
        "network.share" => share(of)?.into(),
        "network.equalising_current" => {
            let (net, lead) = two_batteries(of)?;
            solve(&net).map_err(text)?.amps(lead).into()
        }
        "network.bank_fault" => bank_fault(of)?.into(),
        "network.fault_behind_loop" => {
            let mut net = Netlist::new();
            let (minus, plus, far) = (net.node("minus"), net.node("plus"), net.node("far"));
            net.emf(plus, minus, of.of("voltage")?, of.of("source")?);
            net.resistor(plus, far, of.of("loop")?);
            fault_at(&net, far, minus)?.into()
        }
        _ => return Ok(None),
    }))
}

fn text(error: network::SolveError) -> String {
    error.to_string()
}

fn fault_at(net: &Netlist, plus: NodeId, minus: NodeId) -> Result<Amps, String> {
    let faults = fault(net, &[(plus, minus)], Ohms::zero()).map_err(text)?;
    faults.first().map(|fault| fault.amps).ok_or_else(|| "no fault current".to_owned())
}

/// A source, a loop and one load: of a resistance (`load`), a current (`current`) or a power (`power`).
fn of_one_load(of: &Inputs) -> Result<(Amps, Volts), String> {
    let mut net = Netlist::new();
    let (minus, plus) = (net.node("minus"), net.node("plus"));
    net.emf(plus, minus, of.of("voltage")?, of.of("source")?);
    let mut at = plus;
    if of.has("loop") {
        at = net.node("load");
        net.resistor(plus, at, of.of("loop")?);
    }
    let load = if of.has("power") {
        net.constant_power(at, minus, of.of("power")?, None)
    } else if of.has("current") {
        net.current(at, minus, of.of("current")?)
    } else {
        net.resistor(at, minus, of.of("load")?)
    };
    let solution = solve(&net).map_err(text)?;
    if !solution.converged() {
        return Err("the load cannot draw its power here".to_owned());
    }
    Ok((solution.amps(load), solution.volts_between(at, minus)))
}

/// What battery `at` of a row of `batteries` gives, each joined to the next by `link` in both poles.
/// The positive is taken at the first; the negative too, or at the last where `diagonal`.
fn share(of: &Inputs) -> Result<Amps, String> {
    let count = of.count("batteries", 0)?;
    let link: Ohms = of.of("link")?;
    let mut net = Netlist::new();
    let (mut poles, mut cells) = (Vec::<(NodeId, NodeId)>::new(), Vec::new());
    for ix in 1..=count {
        let (plus, minus) = (net.node(format!("plus {ix}")), net.node(format!("minus {ix}")));
        cells.push(net.emf(plus, minus, of.of("voltage")?, of.of("source")?));
        if let Some((plus_before, minus_before)) = poles.last() {
            net.resistor(*plus_before, plus, link);
            net.resistor(*minus_before, minus, link);
        }
        poles.push((plus, minus));
    }
    let (Some(first), Some(last)) = (poles.first(), poles.last()) else {
        return Err("input `batteries` should be at least 1".to_owned());
    };
    let minus = if of.flag("diagonal")? { last.1 } else { first.1 };
    net.current(first.0, minus, of.of("current")?);
    let at = (of.count("at", 1)? as usize).checked_sub(1).and_then(|at| cells.get(at));
    let at = at.ok_or("input `at` should be one of the batteries, from 1")?;
    Ok(solve(&net).map_err(text)?.amps(*at))
}

/// Two batteries of other voltages, or with other leads, joined without a load.
fn two_batteries(of: &Inputs) -> Result<(Netlist, network::ElementId), String> {
    let mut net = Netlist::new();
    let minus = net.node("minus");
    let (a, b) = (net.node("a"), net.node("b"));
    net.emf(a, minus, of.of("voltage_a")?, of.of("source")?);
    net.emf(b, minus, of.of("voltage_b")?, of.of("source")?);
    let lead = net.resistor(a, b, of.of("loop")?);
    Ok((net, lead))
}

/// What a bank gives into a short: batteries of a voltage and a known short-circuit current, in series and parallel.
fn bank_fault(of: &Inputs) -> Result<Amps, String> {
    let volts: Volts = of.of("battery_voltage")?;
    let internal = volts / of.of::<Amps>("battery_fault")?;
    let mut net = Netlist::new();
    let (minus, plus) = (net.node("minus"), net.node("plus"));
    let (series, strings) = (of.count("series", 1)?, of.count("parallel", 1)?);
    for string in 0..strings {
        let mut below = minus;
        for ix in 1..=series {
            let above = if ix == series { plus } else { net.node(format!("{string}-{ix}")) };
            net.emf(above, below, volts, internal);
            below = above;
        }
    }
    fault_at(&net, plus, minus)
}
