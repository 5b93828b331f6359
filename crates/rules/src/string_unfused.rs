//! Parallel strings without fuses of their own.
//! Never: judges the cable to the controller (see `array_current_too_high.rs`).
//! Start at [`RULE`].

use model::{Spec, TerminalRef};

use crate::sources::{around, strings};
use crate::{Case, Out, rule};

rule! {
    /// ## What
    /// Three or more strings stand in parallel without a fuse small enough to protect each of them.
    /// ## Why
    /// A fault in one module is fed backwards by all the other strings; the module and its cable burn.
    /// ## Limit
    /// From three strings (NEC 690.9), where the other strings can push more than the module's largest series fuse: as many fuses as strings,
    /// none above that rating.
    /// ## Mend
    /// A fuse in each string, or fewer strings with more modules in series.
    /// ## Silent when
    /// There are two strings or fewer, the others cannot exceed the module's series fuse, or each string has its fuse.
    /// ## Example
    /// Four strings of 10 A on modules with a series fuse of 15 A.
    "string-unfused", Danger, "parallel strings have no fuses of their own",
    reads: "modules, strings, fuses between array and controller",
    na: "NEC 690.9(A)", iec: "IEC 62548, 6.5; the NEC count is used", sources: ["nec-690"],
    check: check,
}

fn check(case: &Case<'_>, out: &mut Out) {
    let (from, more) = (case.reference.pv_fuse_from_strings(), case.reference.pv_current_factor());
    for string in strings(case) {
        let (array, id) = (string.array, &string.name.id);
        let others = array.module.short_current * f64::from(string.parallel.saturating_sub(1)) * more.value;
        if string.parallel < from.value || others <= array.module.series_fuse {
            continue;
        }
        let start = TerminalRef { device: string.device, terminal: 0 };
        let mut fuses = std::collections::BTreeSet::new();
        for at in around(case, start, |_| true) {
            match case.device(at.device).map(|device| &device.spec) {
                Some(Spec::Fuse(fuse)) if fuse.rating <= array.module.series_fuse => {
                    fuses.insert(at.device);
                }
                _ => {}
            }
        }
        if fuses.len() >= string.parallel as usize {
            continue;
        }
        let found = out.danger(
            id,
            case.cause(&[&format!("{id}.series")], &string.name.intent),
            format!(
                "{} strings of {id} stand in parallel with {} fuses of {} or less; each string needs one",
                string.parallel,
                fuses.len(),
                array.module.series_fuse
            ),
        );
        found.why(
            "A fault in one module is fed by all other strings, and nothing stops it: module and cable burn.",
        );
        found.because(format!(
            "the other {} strings push {} x {} = {others} into a faulty one; its module stands {}",
            string.parallel.saturating_sub(1),
            array.module.short_current * f64::from(string.parallel.saturating_sub(1)),
            more.value,
            array.module.series_fuse
        ));
        found.cites(&from).cites(&more);
        found.undo();
        found.mend(format!("put a fuse of {} into each string", array.module.series_fuse));
        found.mend(format!("have fewer than {} strings, with more modules in series", from.value));
    }
}
