//! The one list of rules, sorted by id. A new rule is a file, a line here and a case page.
//! Never: holds a rule's data or logic.
//! Start at the names below; `lib.rs` turns them into modules and into [`crate::rules`].

/// Hands the names of all rules' files to the macro `$then`.
macro_rules! with_rules {
    ($then:ident) => {
        $then! {
            bonding_undersized,
            busbar_overloaded,
            conductor_below_minimum,
            conductor_overloaded,
            current_past_shunt,
            disconnect_overloaded,
            excess_voltage_drop,
            fault_not_cleared,
            fuse_cannot_interrupt,
            fuse_too_large_for_conductor,
            fuse_too_small_for_load,
            insulation_too_cold_rated,
            lug_does_not_fit,
            lugs_stacked,
            missing_disconnect,
            no_ampacity_known,
            no_part_fits,
            panel_overloaded,
            pin_names_nothing,
            poles_crossed,
            protection_too_far,
            refused,
            return_through_chassis,
            return_undersized,
            short_circuit_withstand,
            shunt_overloaded,
            terminal_too_small,
            unanswered_safety_question,
            unprotected_conductor,
        }
    };
}
