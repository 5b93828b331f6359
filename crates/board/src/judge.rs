//! Going through a list of checks, for the board and for the plan of the vehicle.
//! Never: holds a check.
//! Start at [`all`].

use rules::{Finding, Severity};

/// A check of `T`: its name, what it means to a person, and the function.
pub type Check<T> = (&'static str, &'static str, fn(&T, &mut Out));

/// Takes the findings of one check.
pub struct Out {
    rule: &'static str,
    why: &'static str,
    findings: Vec<Finding>,
}

impl Out {
    pub(crate) fn say(
        &mut self,
        severity: Severity,
        message: String,
        place: &str,
        intent: String,
    ) -> &mut Finding {
        self.findings.push(Finding {
            rule: self.rule,
            severity,
            message,
            place: place.to_owned(),
            intent,
            why: self.why.to_owned(),
            because: Vec::new(),
            cite: Vec::new(),
            fixes: Vec::new(),
            answered: None,
        });
        let last = self.findings.len() - 1;
        &mut self.findings[last]
    }

    pub(crate) fn warn(&mut self, message: String, place: &str, intent: String) -> &mut Finding {
        self.say(Severity::Warning, message, place, intent)
    }
}

/// Everything that the checks find, worst first, then by check and place. The findings have the form of the rules' findings.
pub fn all<T>(of: &T, checks: &[Check<T>]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (rule, why, check) in checks {
        let mut out = Out { rule, why, findings: Vec::new() };
        check(of, &mut out);
        findings.append(&mut out.findings);
    }
    findings.sort_by_key(|finding| finding.severity);
    findings
}
