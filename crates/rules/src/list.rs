//! The one list of rules, sorted by id. A new rule is a file, a line here and a case page.
//! Never: holds a rule's data or logic.
//! Start at the names below; `lib.rs` turns them into modules and into [`crate::rules`].

/// Hands the names of all rules' files to the macro `$then`.
macro_rules! with_rules {
    ($then:ident) => {
        $then! {
            conductor_below_minimum,
            conductor_overloaded,
            fuse_cannot_interrupt,
            fuse_too_large_for_conductor,
            fuse_too_small_for_load,
            insulation_too_cold_rated,
            no_ampacity_known,
            no_part_fits,
            pin_names_nothing,
            protection_too_far,
            refused,
            unanswered_safety_question,
            unprotected_conductor,
        }
    };
}
