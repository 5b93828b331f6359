//! The one list of rules, sorted by id. A new rule is a file, a line here and a case page.
//! Never: holds a rule's data or logic.
//! Start at the names below; `lib.rs` turns them into modules and into [`crate::rules`].

/// Hands the names of all rules' files to the macro `$then`.
macro_rules! with_rules {
    ($then:ident) => {
        $then! {
            no_part_fits,
            pin_names_nothing,
            refused,
            unanswered_safety_question,
        }
    };
}
