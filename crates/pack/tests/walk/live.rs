//! What is under voltage at a moment of building.
//! Never: asks whether that is in order.
//! Start at [`Site::live`].

use std::collections::{BTreeMap, BTreeSet};

use model::{Pole, Spec, TerminalRef};

use super::Site;

impl Site<'_> {
    /// Terminals under voltage, each with whether a closed fuse or breaker stands between it and its source.
    pub fn live(&self, with_sun: bool) -> BTreeMap<TerminalRef, bool> {
        let mut live: BTreeMap<TerminalRef, bool> = BTreeMap::new();
        let mut at: BTreeMap<TerminalRef, Vec<usize>> = BTreeMap::new();
        for (ix, c) in self.system.conductors.iter().enumerate() {
            at.entry(c.from).or_default().push(ix);
            at.entry(c.to).or_default().push(ix);
        }
        let mut queue: Vec<(TerminalRef, bool)> = Vec::new();
        for (ix, device) in self.system.devices.iter().enumerate() {
            let names: &[&str] = match &device.spec {
                Spec::Battery(_) if self.mounted.contains(&ix) => &["positive"],
                Spec::StartBattery(_) if !self.off_battery.contains(&ix) => &["positive"],
                Spec::Alternator(_) if self.running.contains(&ix) => &["positive"],
                Spec::Array(_) if with_sun && self.mounted.contains(&ix) && !self.covered.contains(&ix) => {
                    &["positive"]
                }
                Spec::Inlet(_) | Spec::Generator(_) if self.running.contains(&ix) => &["line", "line2"],
                _ => &[],
            };
            for (terminal, end) in device.terminals.iter().enumerate() {
                if names.contains(&end.name.as_str()) {
                    queue.push((TerminalRef { device: ix, terminal }, false));
                }
            }
        }
        while let Some((end, guarded)) = queue.pop() {
            // The unguarded reach is the worse, so it is told where a terminal has both.
            match live.get(&end) {
                Some(known) if !*known || guarded => continue,
                _ => live.insert(end, guarded),
            };
            for ix in at.get(&end).into_iter().flatten() {
                let c = &self.system.conductors[*ix];
                let is_return = matches!(c.pole, Pole::Negative | Pole::Neutral | Pole::Earth);
                if is_return || !self.reaches(*ix, end) {
                    continue;
                }
                let other = if c.from == end { c.to } else { c.from };
                let joined = c.is_internal || self.joined.contains(&(*ix, other));
                if joined && self.carries(*ix) {
                    queue.push((other, guarded));
                }
            }
            let device = &self.system.devices[end.device];
            let name = device.terminals[end.terminal].name.as_str();
            let is_on = self.on.contains(&end.device);
            let running = self.running.contains(&end.device);
            let (outs, guards): (&[&str], bool) = match (&device.spec, name) {
                (Spec::Fuse(_) | Spec::Breaker(_), "in") if is_on => (&["out"], true),
                (Spec::Fuse(_) | Spec::Breaker(_), "out") if is_on => (&["in"], true),
                (Spec::Disconnect(_), "in") if is_on => (&["out"], false),
                (Spec::Disconnect(_), "out") if is_on => (&["in"], false),
                (Spec::Shunt(_), "bank") => (&["system"], false),
                (Spec::Shunt(_), "system") => (&["bank"], false),
                (Spec::Converter(_), "in-positive") => (&["positive"], true),
                (Spec::TransferSwitch(_), "a-line" | "b-line") => (&["line"], false),
                // Electronic devices limit what they pass on.
                (Spec::Inverter(..), "positive") if running => (&["line", "line2"], true),
                (Spec::Inverter(..), "in-line") => (&["line"], false),
                (Spec::Controller(..), "array-positive") => (&["positive"], true),
                (Spec::DcDc(..), "in-positive") => (&["positive"], true),
                (Spec::Charger(..), "line") => (&["positive"], true),
                _ => (&[], false),
            };
            for (terminal, t) in device.terminals.iter().enumerate() {
                if outs.contains(&t.name.as_str()) {
                    queue.push((TerminalRef { device: end.device, terminal }, guarded || guards));
                }
            }
        }
        live
    }

    pub fn reaches(&self, cable: usize, end: TerminalRef) -> bool {
        self.system.conductors[cable].is_internal || self.joined.contains(&(cable, end))
    }

    /// Ends of cables whose other end hangs free are live too, where the joined end is.
    pub fn live_cables(&self, live: &BTreeMap<TerminalRef, bool>) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        for (ix, c) in self.system.conductors.iter().enumerate() {
            let is_return = matches!(c.pole, Pole::Negative | Pole::Neutral | Pole::Earth);
            if !is_return && [c.from, c.to].iter().any(|end| self.reaches(ix, *end) && live.contains_key(end))
            {
                found.insert(ix);
            }
        }
        found
    }
}
