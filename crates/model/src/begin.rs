//! Starting points: the text of a commented intent.toml for each kind of project, voltage and rule set.
//! Never: writes a file, asks back.
//! Start at [`begin`]; the starting points stand in `starts/`.

use reference::RuleSet;

use crate::Craft;

/// Nominal voltage of the bank of a starting point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BankVolts {
    /// 12 V.
    V12,
    /// 24 V.
    V24,
    /// 48 V.
    V48,
}

impl BankVolts {
    /// Every choice, the lowest first.
    pub const ALL: [Self; 3] = [Self::V12, Self::V24, Self::V48];

    /// The number of volts.
    pub fn number(self) -> u32 {
        match self {
            Self::V12 => 12,
            Self::V24 => 24,
            Self::V48 => 48,
        }
    }
    /// The choice for a number of volts.
    pub fn from_number(volts: u32) -> Option<Self> {
        Self::ALL.into_iter().find(|choice| choice.number() == volts)
    }
}

/// The starting point with its choices filled in; it reads and derives without a problem.
///
/// - `name`: any text; it stands in the file as a TOML text that reads back as it is
/// - `usual_loads`: whether the loads that such a project usually has are in it; otherwise it has none, and an example in a comment
///
/// In the files of `starts/`, `@voltage@` and the like stand for a choice, and lines between `#? WORD` and `#.` stay only where the
/// word is true of the choices. Such blocks may stand within each other.
pub fn begin(craft: Craft, volts: BankVolts, rules: RuleSet, name: &str, usual_loads: bool) -> String {
    let start = match craft {
        Craft::Van => include_str!("../starts/van.toml"),
        Craft::Boat => include_str!("../starts/boat.toml"),
        Craft::Trailer => include_str!("../starts/trailer.toml"),
        Craft::Hut => include_str!("../starts/hut.toml"),
        Craft::Workshop => include_str!("../starts/workshop.toml"),
    };
    let (inlet, insulation) = match rules {
        RuleSet::Na => ("30 A", "105 °C"),
        RuleSet::Iec => ("16 A", "90 °C"),
    };
    let is_true = |word: &str| match word {
        "12" => volts == BankVolts::V12,
        "24" => volts == BankVolts::V24,
        "48" => volts == BankVolts::V48,
        "not 48" => volts != BankVolts::V48,
        "loads" => usual_loads,
        "no loads" => !usual_loads,
        _ => false,
    };
    let name = toml_edit::Value::from(name).to_string();
    let mut text = String::new();
    let mut blocks: Vec<bool> = Vec::new();
    for line in start.lines() {
        if let Some(word) = line.strip_prefix("#? ") {
            blocks.push(is_true(word));
        } else if line == "#." {
            blocks.pop();
        } else if blocks.iter().all(|is_kept| *is_kept) {
            let line = line
                .replace("@voltage@", &volts.number().to_string())
                .replace("@rules@", &rules.to_string())
                .replace("@inlet@", inlet)
                .replace("@insulation@", insulation)
                // Last, since a name may hold anything.
                .replace("\"@name@\"", &name);
            text.push_str(&line);
            text.push('\n');
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Project, SourceText};

    fn read(text: &str) -> Result<Project, String> {
        let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
        Project::read(source, crate::library::builtin().clone())
            .map_err(|problems| format!("{problems:?}\n{text}"))
    }

    #[test]
    fn every_start_reads_and_says_what_was_chosen() {
        for craft in Craft::ALL {
            for volts in BankVolts::ALL {
                for rules in [RuleSet::Na, RuleSet::Iec] {
                    for usual_loads in [true, false] {
                        let text = begin(*craft, volts, rules, "Test", usual_loads);
                        let marks = ["#?", "#.\n", "@"];
                        assert!(!marks.iter().any(|mark| text.contains(mark)), "a mark is left in\n{text}");
                        assert!(!text.contains("\n\n\n"), "two empty lines\n{text}");
                        let intent = read(&text).expect("reads").intent;
                        assert_eq!(intent.brief.craft, *craft);
                        assert_eq!(intent.brief.rules, rules);
                        let written = quantity::Volts::new(f64::from(volts.number()));
                        assert_eq!(intent.brief.voltage, written);
                        assert_eq!(intent.loads.is_empty(), !usual_loads);
                    }
                }
            }
        }
    }

    /// Blocks of the files are closed, and each word is one that [`begin`] knows: true of some choice and false of another.
    #[test]
    fn blocks_are_closed_and_their_words_known() {
        for start in [
            include_str!("../starts/van.toml"),
            include_str!("../starts/boat.toml"),
            include_str!("../starts/trailer.toml"),
            include_str!("../starts/hut.toml"),
            include_str!("../starts/workshop.toml"),
        ] {
            let mut open = 0;
            for line in start.lines() {
                if let Some(word) = line.strip_prefix("#? ") {
                    open += 1;
                    assert!(["12", "24", "48", "not 48", "loads", "no loads"].contains(&word), "{word}");
                } else if line == "#." {
                    open -= 1;
                    assert!(open >= 0, "a block ends that was not opened\n{start}");
                }
            }
            assert_eq!(open, 0, "{start}");
        }
    }

    #[test]
    fn any_name_reads_back_as_it_is() {
        for name in [
            "Plain",
            "a\"b\\c",
            "two\nlines\tand a tab",
            "'single' and \"\"\"three\"\"\"",
            "@voltage@ #? 48",
            "bell \u{7} null \u{0} delete \u{7f}",
            "Zoë 車 \u{1f690}",
            "\"\nrules = \"iec\"\n[bank]\n",
        ] {
            let text = begin(Craft::Van, BankVolts::V12, RuleSet::Na, name, true);
            let project = read(&text).expect("reads");
            assert_eq!(project.intent.brief.name, name);
            assert_eq!(project.intent.brief.rules, RuleSet::Na);
        }
    }
}
