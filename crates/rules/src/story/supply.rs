//! What loses every supply once the fault is cleared, and what goes on.
//! Never: counts on what is shorted: whatever still hangs together with the fault gives nothing and gets nothing.
//! Start at [`tell`].

use std::collections::BTreeSet;

use model::{DeviceIx, Pole, Spec, TerminalRef};
use serde::Serialize;

use super::FaultStory;
use crate::{Case, Node, Via};

/// What feeds a load after the fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Supply {
    /// The bank.
    Bank,
    /// Only what charges from sun or engine, as long as and as far as that gives.
    Charging,
    /// Only shore power or the generator, while one is there.
    Mains,
}

impl Supply {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Bank => "from the bank",
            Self::Charging => "only from sun or engine, as far as they give",
            Self::Mains => "only from shore power or a generator",
        }
    }
}

/// Something that has lost every supply.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dark {
    /// Its id.
    pub device: String,
    /// What it is called.
    pub title: String,
    /// Whether it is a load.
    pub is_load: bool,
    /// Whether it is one that a low voltage makes unsafe or useless.
    pub critical: bool,
}

/// A load that goes on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Still {
    /// Its id.
    pub device: String,
    /// What it is called.
    pub title: String,
    /// The best supply that it has left.
    pub supply: Supply,
}

/// Fills in what goes dark and what goes on, with the devices of [`FaultStory::opens`] open.
pub(super) fn tell(case: &Case<'_>, at: TerminalRef, story: &mut FaultStory) {
    let opened: BTreeSet<&str> = story.opens.iter().map(|opening| opening.device.as_str()).collect();
    let is_open: Vec<bool> =
        case.system.devices.iter().map(|device| opened.contains(device.id.as_str())).collect();
    let passes = |via: Via| match via {
        Via::Device(device) => !is_open[device],
        Via::Conductor(_) => true,
    };
    let live = |node: Node| {
        case.pole(case.graph.terminal(node))
            .is_some_and(|pole| matches!(pole, Pole::Positive | Pole::Line | Pole::Line2))
    };
    let shorted = case.graph.reach(&[at], |_, edge| passes(edge.via) && live(edge.to));
    let fed: Vec<(Supply, Vec<bool>)> = [Supply::Bank, Supply::Charging, Supply::Mains]
        .into_iter()
        .map(|supply| {
            let mut open: Vec<Node> = (0..case.graph.len())
                .filter(|node| live(*node) && !shorted[*node] && is_source(case, *node, supply))
                .collect();
            let mut seen = vec![false; case.graph.len()];
            for node in &open {
                seen[*node] = true;
            }
            while let Some(node) = open.pop() {
                let here = case.graph.terminal(node);
                let onward =
                    case.graph.edges(node).iter().filter(|edge| passes(edge.via)).map(|edge| edge.to);
                for to in onward.chain(hands_over(case, here)) {
                    if !seen[to] && !shorted[to] && live(to) {
                        seen[to] = true;
                        open.push(to);
                    }
                }
            }
            (supply, seen)
        })
        .collect();
    let (mut lost, mut others) = (Vec::new(), Vec::new());
    for (ix, device) in case.system.devices.iter().enumerate() {
        let critical = matches!(&device.spec, Spec::Load(load) if load.critical);
        let is_load = matches!(device.spec, Spec::Load(_));
        let is_told = matches!(
            device.spec,
            Spec::Load(_)
                | Spec::Inverter(..)
                | Spec::Converter(_)
                | Spec::FusePanel(_)
                | Spec::AcPanel(_)
                | Spec::Busbar(_)
        );
        let inputs = inputs(case, ix);
        if !is_told || inputs.is_empty() {
            continue;
        }
        let supply =
            fed.iter().find(|(_, fed)| inputs.iter().any(|node| fed[*node])).map(|(supply, _)| *supply);
        match supply {
            Some(supply) if is_load => {
                story.still.push(Still { device: device.id.clone(), title: device.title.clone(), supply });
            }
            Some(_) => {}
            None => {
                let dark = Dark { device: device.id.clone(), title: device.title.clone(), is_load, critical };
                if is_load { lost.push(dark) } else { others.push(dark) }
            }
        }
    }
    story.dark = lost;
    story.dark.extend(others);
}

fn is_source(case: &Case<'_>, node: Node, supply: Supply) -> bool {
    let at = case.graph.terminal(node);
    let Some(device) = case.device(at.device) else { return false };
    match supply {
        Supply::Bank => matches!(device.spec, Spec::Battery(_)),
        Supply::Charging => {
            matches!(device.spec, Spec::StartBattery(_) | Spec::Alternator(_) | Spec::Array(_))
        }
        Supply::Mains => matches!(device.spec, Spec::Inlet(_) | Spec::Generator(_)),
    }
}

/// The live terminals by which a device is fed; of an inverter the direct-current one.
fn inputs(case: &Case<'_>, ix: DeviceIx) -> Vec<Node> {
    let Some(device) = case.device(ix) else { return Vec::new() };
    let is_input = |name: &str, pole: Pole| match &device.spec {
        Spec::Inverter(..) => name == "positive",
        Spec::Converter(_) => name == "in-positive",
        _ => pole.is_ungrounded(),
    };
    let terminals = device.terminals.iter().enumerate().filter(|(_, t)| is_input(&t.name, t.pole));
    terminals.filter_map(|(terminal, _)| case.graph.node(TerminalRef { device: ix, terminal })).collect()
}

/// The terminals of the same device that are fed where this one is.
fn hands_over(case: &Case<'_>, at: TerminalRef) -> Vec<Node> {
    let Some(device) = case.device(at.device) else { return Vec::new() };
    let Some(name) = device.terminals.get(at.terminal).map(|terminal| terminal.name.as_str()) else {
        return Vec::new();
    };
    let gives = |to: &str| match &device.spec {
        // What changes over or charges hands on to its other side; a plain inverter has no `in-line`.
        Spec::Inverter(..) => {
            name == "positive" && to.starts_with("line") || name == "in-line" && to != "in-line"
        }
        Spec::Charger(..) => name.starts_with("line") && to == "positive",
        Spec::DcDc(..) | Spec::Converter(_) => name == "in-positive" && to == "positive",
        Spec::Controller(..) => name == "array-positive" && to == "positive",
        Spec::TransferSwitch(_) => name != "line" && name.ends_with("line") && to == "line",
        _ => false,
    };
    let given = device.terminals.iter().enumerate().filter(|(_, terminal)| gives(&terminal.name));
    given.filter_map(|(terminal, _)| case.graph.node(TerminalRef { device: at.device, terminal })).collect()
}
