//! How lugs are stacked where a person says so: names turned into terminals and conductors.
//! Never: judges the order (see `rules`), orders what nobody said.
//! Start at [`enter`].

use model::read::nearest;
use model::{ConductorIx, SaidStack, Stacks, System, TerminalRef, Unused};

/// What is wrong with a stack, and how to mend it.
type Fault = (String, String);

/// Enters each stack that names a stud; what names nothing stands among the unused.
pub fn enter(system: &mut System, stacks: &Stacks) {
    for (name, lugs) in &stacks.0 {
        let path = format!("stacks.{name}");
        let say = |system: &mut System, intent: String, (message, mend): Fault| {
            system.unused.push(Unused { intent, message, mend });
        };
        let (at, stud) = match stud_of(system, name) {
            Ok(found) => found,
            Err(fault) => {
                say(system, path, fault);
                continue;
            }
        };
        let here = lugs_at(system, at);
        let elsewhere: Vec<ConductorIx> = system
            .stacks
            .iter()
            .filter(|stack| stack.at == at)
            .flat_map(|stack| stack.lugs.clone())
            .collect();
        let mut found = Vec::new();
        for (index, lug) in lugs.iter().enumerate() {
            let ix = here.iter().copied().find(|ix| system.conductors[*ix].id == *lug);
            match ix {
                Some(ix) if elsewhere.contains(&ix) => {
                    let fault = (
                        format!("`{lug}` is said to lie on another stud of that busbar too"),
                        "Name each conductor on one stud".to_owned(),
                    );
                    say(system, format!("{path}[{index}]"), fault);
                }
                Some(ix) => found.push(ix),
                None => {
                    let fault = no_lug(system, &here, name, lug);
                    say(system, format!("{path}[{index}]"), fault);
                }
            }
        }
        if system.studs(at) == 1 {
            let missing: Vec<&str> = here
                .iter()
                .filter(|ix| !found.contains(ix))
                .map(|ix| system.conductors[*ix].id.as_str())
                .collect();
            if !missing.is_empty() {
                let fault = (
                    format!("{} on `{name}` too, and the stack does not say where", end_there(&missing)),
                    format!("Add {} at the place of its lug", missing.join(", ")),
                );
                say(system, path.clone(), fault);
            }
        }
        system.stacks.push(SaidStack { at, stud, lugs: found, intent: path });
    }
}

fn end_there(names: &[&str]) -> String {
    let verb = if names.len() == 1 { "ends" } else { "end" };
    format!("{} {verb}", names.join(", "))
}

/// The terminal and stud of a name: `bank.positive`, or `positive-bar.bar.2` on a busbar of several studs.
fn stud_of(system: &System, name: &str) -> Result<(TerminalRef, u32), Fault> {
    if let Some(at) = system.find_terminal(name) {
        return match system.studs(at) {
            1 => Ok((at, 1)),
            0 => Err((
                format!("`{name}` has no stud: no lug lies there"),
                "Take it away, or name a terminal with a stud".to_owned(),
            )),
            studs => Err((
                format!("`{name}` has {studs} studs, and the stack does not say which is meant"),
                format!("Write `{name}.1` for the stud nearest the feed, and so on to `{name}.{studs}`"),
            )),
        };
    }
    let numbered = name.rsplit_once('.').and_then(|(terminal, number)| {
        Some((system.find_terminal(terminal)?, terminal, number.parse::<u32>().ok()?))
    });
    if let Some((at, terminal, number)) = numbered {
        let studs = system.studs(at);
        return if (1..=studs).contains(&number) {
            Ok((at, number))
        } else {
            Err((
                format!("`{terminal}` has {studs} studs; there is no stud {number}"),
                match studs {
                    0 => "Take it away, or name a terminal with a stud".to_owned(),
                    1 => format!("Write `{terminal}`"),
                    studs => format!("Count the studs from the feed, `{terminal}.1` to `{terminal}.{studs}`"),
                },
            ))
        };
    }
    let known: Vec<String> = system
        .devices
        .iter()
        .enumerate()
        .flat_map(|(device, data)| {
            (0..data.terminals.len()).map(move |terminal| TerminalRef { device, terminal })
        })
        .filter(|at| system.studs(*at) > 0)
        .map(|at| system.terminal_name(at))
        .collect();
    let mend = nearest(name, known.iter().map(String::as_str)).map_or_else(
        || "The schedule of ends names every terminal with a stud".to_owned(),
        |near| format!("Did you mean `{near}`?"),
    );
    Err((format!("there is no terminal `{name}`"), mend))
}

fn lugs_at(system: &System, at: TerminalRef) -> Vec<ConductorIx> {
    let ends_here = |(_, conductor): &(usize, &model::Conductor)| {
        (conductor.from == at || conductor.to == at) && system.is_lug(conductor, at)
    };
    system.conductors.iter().enumerate().filter(ends_here).map(|(ix, _)| ix).collect()
}

fn no_lug(system: &System, here: &[ConductorIx], stud: &str, lug: &str) -> Fault {
    let names: Vec<&str> = here.iter().map(|ix| system.conductors[*ix].id.as_str()).collect();
    let mend = match nearest(lug, names.iter().copied()) {
        Some(near) => format!("Did you mean `{near}`?"),
        None if names.is_empty() => "Take the stack away: nothing ends there".to_owned(),
        None => format!("Lugs there: {}", names.join(", ")),
    };
    let message = if system.conductors.iter().any(|conductor| conductor.id == lug) {
        format!("`{lug}` does not end at `{stud}`")
    } else {
        format!("there is no conductor `{lug}`")
    };
    (message, mend)
}
