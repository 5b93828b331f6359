//! What a person writes about how lugs are in fact stacked on a stud, from the pad up.
//! Never: orders lugs itself (see `rules::stacks`), knows which terminals there are (see `derive`).
//! Start at [`Stacks`].

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::read::{Context, ReadValue, describe, whole};

/// Stacks by stud: `"bank.positive" = ["main.positive", "alarm.positive"]`, the lug at the pad first. The stud of a busbar has
/// its number behind, counted from the feed: `"positive-bar.bar.2"`.
#[derive(Clone, Debug, PartialEq, Default, serde::Serialize, schemars::JsonSchema)]
#[schemars(transparent)]
pub struct Stacks(pub BTreeMap<String, Vec<String>>);

const EXAMPLE: &str =
    "`\"bank.positive\" = [\"main.positive\", \"alarm.positive\"]`, the lug at the pad first";

impl ReadValue for Stacks {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let DeValue::Table(table) = value.get_ref() else {
            context.problem(
                value.span(),
                format!("{} stands where a table of stacks is wanted", describe(value.get_ref())),
                format!("Write `[stacks]` and below it {EXAMPLE}"),
            );
            return None;
        };
        let mut stacks = BTreeMap::new();
        read_below(table, "", &mut stacks, context).then_some(Self(stacks))
    }
    fn absent() -> Option<Self> {
        Some(Self::default())
    }
    fn example() -> Cow<'static, str> {
        "{ \"bank.positive\" = [\"main.positive\", \"alarm.positive\"] }".into()
    }
}

/// A name without quotes makes a table of each dot; both are read alike, as pins are.
fn read_below(
    table: &DeTable<'_>,
    above: &str,
    stacks: &mut BTreeMap<String, Vec<String>>,
    context: &mut Context<'_>,
) -> bool {
    let mut is_complete = true;
    for (key, item) in table.iter() {
        let name: &str = key.get_ref();
        let path = if above.is_empty() { name.to_owned() } else { format!("{above}.{name}") };
        is_complete &= context.at(name, whole(key.span(), item.span()), |context| match item.get_ref() {
            DeValue::Array(_) => match Vec::<String>::read(item, context) {
                Some(lugs) => {
                    stacks.insert(path, lugs);
                    true
                }
                None => false,
            },
            DeValue::Table(below) => read_below(below, &path, stacks, context),
            other => {
                context.problem(
                    item.span(),
                    format!("{} stands where a list of conductors is wanted", describe(other)),
                    format!("Write it like this: {EXAMPLE}"),
                );
                false
            }
        });
    }
    is_complete
}

/// Everything that makes no sense whatever the system is: path, what is wrong, how to mend it.
pub(crate) fn faults(stacks: &Stacks) -> Vec<(String, String, String)> {
    let mut faults = Vec::new();
    for (stud, lugs) in &stacks.0 {
        let path = format!("stacks.{stud}");
        if !stud.contains('.') {
            faults.push((
                path.clone(),
                format!("`{stud}` does not say which terminal of the device is meant"),
                format!("Write device and terminal: `\"{stud}.positive\"`"),
            ));
        }
        if lugs.is_empty() {
            faults.push((
                path.clone(),
                format!("no lug is named on `{stud}`"),
                format!("Name the conductors from the pad up, or take the line away: {EXAMPLE}"),
            ));
        }
        let mut seen = BTreeSet::new();
        for (index, lug) in lugs.iter().enumerate() {
            if !seen.insert(lug) {
                faults.push((
                    format!("{path}[{index}]"),
                    format!("`{lug}` stands twice on `{stud}`"),
                    "Name each conductor once, at the place of its lug".to_owned(),
                ));
            }
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use crate::read::SourceText;
    use crate::{Project, library};

    fn read(stacks: &str) -> Result<Project, Vec<crate::Problem>> {
        let text = format!(
            "[brief]\nname = \"x\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\n[stacks]\n{stacks}\n"
        );
        let source = SourceText { name: "intent.toml".to_owned(), text };
        Project::read(source, library::builtin().clone())
    }

    #[test]
    fn a_stack_is_read_with_quotes_and_without() {
        for line in ["\"bank.1.positive\" = [\"a\", \"b\"]", "bank.1.positive = [\"a\", \"b\"]"] {
            let project = read(line).expect("reads");
            let wanted = ("bank.1.positive".to_owned(), vec!["a".to_owned(), "b".to_owned()]);
            assert_eq!(project.intent.stacks.0.into_iter().collect::<Vec<_>>(), [wanted], "{line}");
        }
    }

    #[test]
    fn what_makes_no_sense_is_told_with_line_field_and_mend() {
        for (line, field, message) in [
            ("\"bank.positive\" = \"a\"", "stacks.bank.positive", "a text stands where a list"),
            ("\"bank.positive\" = [3]", "stacks.bank.positive[0]", "a number"),
            ("\"bank.positive\" = []", "stacks.bank.positive", "no lug is named"),
            ("\"bank\" = [\"a\"]", "stacks.bank", "which terminal"),
            ("\"bank.positive\" = [\"a\", \"b\", \"a\"]", "stacks.bank.positive[2]", "`a` stands twice"),
        ] {
            let problems = read(line).expect_err(line);
            let [problem] = problems.as_slice() else { panic!("{line}: {problems:#?}") };
            assert_eq!((problem.field.as_str(), problem.line), (field, 8), "{line}");
            assert!(problem.message.contains(message), "{line}: {}", problem.message);
            assert!(!problem.mend.is_empty(), "{line}");
        }
    }
}
