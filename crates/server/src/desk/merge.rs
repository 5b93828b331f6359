//! Joining a change to what others changed meanwhile.
//! Never: decides between two people; the same value changed on two sides is a clash.
//! Start at [`clashes`].

use model::{stands, value_at};

use crate::wire::{ClashValue, Edit};

/// The values of a change that are no longer what its maker saw. `base` is the text that they saw, where it is still kept.
///
/// Empty where the change can be made to `now`: then it takes nothing back that somebody else did.
pub fn clashes(base: Option<&str>, now: &str, edits: &[Edit]) -> Vec<ClashValue> {
    if base == Some(now) {
        return Vec::new();
    }
    edits
        .iter()
        .filter_map(|edit| {
            let at = |text: &str| value_at(text, &edit.path).ok().flatten();
            let (was, is) = (base.and_then(at), at(now));
            // What it stands in may have been taken away, and one value of it must not come back alone.
            let is_homeless = base.is_some_and(|base| {
                (1..edit.path.len()).any(|end| {
                    let above = edit.path.get(..end).unwrap_or_default();
                    stands(base, above) && !stands(now, above)
                })
            });
            let is_untouched = base.is_some() && was == is && !is_homeless;
            // Where it stands as wanted already, both did the same.
            let is_as_wanted = is == edit.value && !is_homeless;
            (!is_untouched && !is_as_wanted).then(|| ClashValue {
                path: edit.path.clone(),
                was,
                now: is,
                wanted: edit.value.clone(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const BASE: &str = "[loads.fridge]\nhours = \"6 h\"\n[loads.pump]\nhours = \"1 h\"\n";

    fn edit(path: &[&str], value: Option<&str>) -> Edit {
        Edit { path: path.iter().map(|one| (*one).to_owned()).collect(), value: value.map(str::to_owned) }
    }

    fn count(base: Option<&str>, now: &str, edits: &[Edit]) -> usize {
        clashes(base, now, edits).len()
    }

    #[test]
    fn only_what_both_changed_clashes() {
        let fridge = [edit(&["loads", "fridge", "hours"], Some("8 h"))];
        let now = BASE.replace("1 h", "2 h").replace("[loads.pump]", "# mine\n[loads.pump]");
        assert_eq!(count(Some(BASE), BASE, &fridge), 0);
        assert_eq!(count(Some(BASE), &now, &fridge), 0, "another value changed");
        let theirs = BASE.replace("6 h", "7 h");
        let clash = clashes(Some(BASE), &theirs, &fridge);
        assert_eq!(clash.len(), 1);
        assert_eq!(
            (clash[0].was.as_deref(), clash[0].now.as_deref(), clash[0].wanted.as_deref()),
            (Some("6 h"), Some("7 h"), Some("8 h"))
        );
        assert_eq!(count(Some(BASE), &BASE.replace("6 h", "8 h"), &fridge), 0, "both did the same");
        assert_eq!(count(None, &theirs, &fridge), 1, "what was seen is no longer known");
    }

    #[test]
    fn what_was_taken_away_does_not_come_back_in_part() {
        let gone = "[loads.pump]\nhours = \"1 h\"\n";
        assert_eq!(count(Some(BASE), gone, &[edit(&["loads", "fridge", "hours"], Some("8 h"))]), 1);
        assert_eq!(count(Some(BASE), gone, &[edit(&["loads", "fridge", "count"], Some("2"))]), 1);
        assert_eq!(count(Some(BASE), gone, &[edit(&["loads", "fridge"], None)]), 0, "both took it away");
        let changed = BASE.replace("6 h", "7 h");
        assert_eq!(
            count(Some(BASE), &changed, &[edit(&["loads", "fridge"], None)]),
            1,
            "changed while taken away"
        );
    }
}
