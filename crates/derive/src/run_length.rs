//! The length of a run where the mounting board gives it, whole or from the board's edge on.
//! Never: finds a way (see `ways.rs`), lays a cable on the board (see `board`).
//! Start at [`Builder::run_length`].

use std::collections::BTreeMap;

use model::{Inputs, Origin};
use quantity::Metres;

use crate::builder::{Builder, Given};

impl Builder<'_> {
    /// The length of a run: that of its conductors on the mounting board where they lie there whole; where the plan gives it up to
    /// the board, that and the way from the edge of the board to the device on it; else as given.
    pub fn run_length(&mut self, id: &str, poles: [&str; 2], given: Given<Metres>) -> Given<Metres> {
        let of = |lengths: &BTreeMap<String, Metres>| {
            poles.map(|pole| lengths.get(&format!("{id}.{pole}")).copied())
        };
        let [Some(a), Some(b)] = of(&self.measured.whole) else {
            let to_edge = of(&self.measured.to_edge);
            return match &given.origin {
                Origin::Derived(plan)
                    if self.from_board.contains(plan) && to_edge.iter().any(Option::is_some) =>
                {
                    let plan = plan.clone();
                    self.run_from_edge(id, poles, to_edge, given.value, plan)
                }
                _ => given,
            };
        };
        let value = (a + b) / 2.0;
        let path = format!("board.{id}.length");
        let inputs = poles.into_iter().zip([a, b]).fold(Inputs::new(), |inputs, (pole, length)| {
            inputs.with(pole, length, Origin::Practice("as laid on the mounting board".to_owned()))
        });
        self.because(
            path.clone(),
            inputs.because(value, "half of the way out and back along the mounting board"),
        );
        Given { value, origin: Origin::Derived(path) }
    }

    /// Along the plan to the board, and on it from its edge to the device.
    fn run_from_edge(
        &mut self,
        id: &str,
        poles: [&str; 2],
        on_board: [Option<Metres>; 2],
        along: Metres,
        plan: String,
    ) -> Given<Metres> {
        let mut inputs = Inputs::new().with("along the plan", along, Origin::Derived(plan));
        let (mut sum, mut count) = (Metres::zero(), 0.0);
        for (pole, length) in poles.into_iter().zip(on_board) {
            // A pole that ends on a way of a panel is not laid by itself; it goes as the other one does.
            let Some(length) = length else { continue };
            let origin = "as laid on the mounting board, from its hole at the edge to the terminal";
            inputs = inputs.with(pole, length, Origin::Practice(origin.to_owned()));
            sum += length;
            count += 1.0;
        }
        let value = if count > 0.0 { along + sum / count } else { along };
        let path = format!("board.{id}.length");
        let step =
            "the way along the plan, and the mean of the ways from the edge of the board to the device";
        self.because(path.clone(), inputs.because(value, step));
        Given { value, origin: Origin::Derived(path) }
    }
}
