//! What a rule is: its page, its data and its check; and the macro that takes the page once.
//! Never: judges anything itself.
//! Start at [`Rule`]; write a new one with [`rule!`](crate::rule!), see any file of `list.rs`.

use crate::{Case, Out, Severity};

/// One rule.
pub struct Rule {
    /// Its name, which names the fault: `excess-voltage-drop`.
    pub id: &'static str,
    /// The worst severity it gives.
    pub severity: Severity,
    /// The fault in a few words, for lists.
    pub title: &'static str,
    /// What it reads, in words.
    pub reads: &'static str,
    /// Its clause in the rule set `na`.
    pub na: &'static str,
    /// Its clause in the rule set `iec`.
    pub iec: &'static str,
    /// Keys of [`reference::Reference::sources`].
    pub sources: &'static [&'static str],
    /// The page as it stands in the source, each line with the blank that follows `///`.
    pub doc: &'static str,
    /// The check: pure, reads the case, opens findings.
    pub check: fn(&Case<'_>, &mut Out),
}

/// Headings that every page has, in this order.
pub const HEADINGS: [&str; 6] = ["What", "Why", "Limit", "Mend", "Silent when", "Example"];

impl Rule {
    /// The page in Markdown: headings What, Why, Limit, Mend, Silent when, Example.
    pub fn page(&self) -> String {
        let lines = self.doc.lines().map(|line| line.strip_prefix(' ').unwrap_or(line).trim_end());
        let mut page = String::new();
        for line in lines {
            page.push_str(line);
            page.push('\n');
        }
        page.trim().to_owned() + "\n"
    }
}

/// Declares a rule: its page as the doc comment, then its data.
#[macro_export]
macro_rules! rule {
    ($(#[doc = $doc:literal])* $id:literal, $severity:ident, $title:literal,
     reads: $reads:literal, na: $na:literal, iec: $iec:literal, sources: [$($source:literal),* $(,)?], check: $check:path $(,)?) => {
        $(#[doc = $doc])*
        pub const RULE: $crate::Rule = $crate::Rule {
            id: $id,
            severity: $crate::Severity::$severity,
            title: $title,
            reads: $reads,
            na: $na,
            iec: $iec,
            sources: &[$($source),*],
            doc: concat!($($doc, "\n"),*),
            check: $check,
        };
    };
}
