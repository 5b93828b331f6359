//! The built-in parts: read without a problem, complete, coherent, and in step with the reference tables.
//! What is compared with: identities of physics, the reference tables (standards, each row with its source), copper's
//! density (CRC Handbook of Chemistry and Physics, 8.96 g/cm³, from memory). Plausible ranges are common practice, no source.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use model::library::{builtin, builtin_sources};
use model::parts::{Chemistry, LoadNature, NeutralBond, PartFacts, Stud, Supply};
use model::{Library, Name, SourceText};
use quantity::{Amps, Gauge, Volts};
use reference::{FuseFamily, Reference, RuleSet};

fn middle(part: &dyn PartFacts) -> f64 {
    let (low, high) = part.price();
    (low + high).get() / 2.0
}

fn family(id: &Name, part: &str) -> &'static FuseFamily {
    let family = Reference::standard().fuse_family(id.as_str());
    family.unwrap_or_else(|| panic!("{part}: the reference has no fuse family `{id}`"))
}

/// The reference tables name inch studs without the unit.
fn stud_key(stud: Stud) -> &'static str {
    stud.word().trim_end_matches(" in")
}

fn close(found: f64, wanted: f64, share: f64, what: &str) {
    assert!((found / wanted - 1.0).abs() <= share, "{what}: {found} is not within {share} of {wanted}");
}

/// 12, 24 or 48 for a part of that class.
fn class(voltage: Volts) -> u32 {
    match voltage.get() {
        low if low < 18.0 => 12,
        middle if middle < 36.0 => 24,
        _ => 48,
    }
}

#[test]
fn every_file_reads_without_a_problem() {
    for source in builtin_sources() {
        let reading = Library::read(source);
        assert!(reading.problems.is_empty(), "{:#?}", reading.problems);
        assert!(reading.value.is_some_and(|library| library.count() > 0), "{} holds no part", source.name);
        assert!(
            source.text.contains("common practice, no source"),
            "{} does not say where it comes from",
            source.name
        );
    }
    assert!(Library::read_all(builtin_sources()).is_ok());
}

#[test]
fn every_file_of_the_folder_is_built_in() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../parts");
    let on_disk: BTreeSet<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| format!("parts/{}", entry.unwrap().file_name().to_string_lossy()))
        .filter(|name| name.ends_with(".toml"))
        .collect();
    let built_in: BTreeSet<String> = builtin_sources().iter().map(|source| source.name.clone()).collect();
    assert_eq!(on_disk, built_in);
}

#[test]
fn a_part_in_two_files_is_refused_at_the_later_one() {
    let gland = |name: &str| {
        SourceText {
        name: name.to_owned(),
        text: "\n[gland.m12]\ntitle = \"Gland\"\nprice = [\"1\", \"2\"]\nmass = \"5 g\"\nsmallest = \"3 mm\"\nlargest = \"6 mm\"\nhole = \"12 mm\"\n".to_owned(),
    }
    };
    let problems = Library::read_all(&[gland("a.toml"), gland("b.toml")]).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(
        (problems[0].file.as_str(), problems[0].field.as_str(), problems[0].line),
        ("b.toml", "gland.m12", 2)
    );
    let problems = Library::read_all(&[
        gland("a.toml"),
        SourceText { name: "c.toml".into(), text: "[gland.m16]\n".into() },
    ]);
    assert!(problems.unwrap_err().iter().all(|problem| problem.file == "c.toml"));
}

#[test]
fn the_library_is_large_enough() {
    let mut by_kind: BTreeMap<&str, usize> = BTreeMap::new();
    for (kind, ..) in builtin().facts() {
        *by_kind.entry(kind).or_default() += 1;
    }
    assert_eq!(by_kind.len(), Library::KEYS.len(), "a kind has no part: {by_kind:?}");
    // Cable, lugs, ferrules and glands come by the size; the rest must be many by themselves.
    let by_size: usize = ["cable", "lug", "ferrule", "gland"].iter().map(|kind| by_kind[kind]).sum();
    assert!(builtin().count() - by_size >= 120, "{by_kind:?}");
    assert!(by_kind["load"] >= 40);
    let chemistries: BTreeSet<Chemistry> =
        builtin().battery.values().map(|battery| battery.chemistry).collect();
    assert_eq!(chemistries.len(), Chemistry::ALL.len());
}

#[test]
fn price_mass_and_size_are_possible() {
    for (kind, id, part) in builtin().facts() {
        let (low, high) = part.price();
        assert!(low.get() > 0.0 && low <= high, "{kind}.{id}: price {low} to {high}");
        assert!(high.get() <= 10.0 * low.get(), "{kind}.{id}: price {low} to {high} says nothing");
        assert!(part.mass().get() > 0.0, "{kind}.{id}: mass");
        assert!(matches!(part.size().len(), 0 | 3), "{kind}.{id}: a size is width, height, depth");
        let volume: f64 = part.size().iter().map(|side| side.get()).product();
        if part.size().len() == 3 {
            // Denser than lead or lighter than the lightest foam is a slip of the decimal point.
            let density = part.mass().get() / volume;
            assert!((10.0..11_340.0).contains(&density), "{kind}.{id}: {density:.0} kg/m³");
        }
    }
}

#[test]
fn titles_name_no_maker() {
    // A proper name starts with a capital inside a title; only units and trade abbreviations may.
    let known: BTreeSet<&str> = "AC DC AGM AWG LED USB VHF V A W kW Ah VA Hz L T J C °C mA hp M4 M5 M6 M8 M10 M12 M16 M20 M25 M32 M40 M50 M63 N"
        .split(' ')
        .collect();
    for (kind, id, part) in builtin().facts() {
        for word in part.title().split([' ', ',', '/', '-']).skip(1).filter(|word| !word.is_empty()) {
            let is_plain = !word.chars().any(char::is_uppercase);
            assert!(
                is_plain || known.contains(word),
                "{kind}.{id}: `{word}` in `{}` may be a name",
                part.title()
            );
        }
        assert!(!part.title().contains(['®', '™']), "{kind}.{id}");
    }
    for (kind, titles) in builtin().facts().iter().fold(
        BTreeMap::new(),
        |mut map: BTreeMap<&str, Vec<&str>>, (kind, _, part)| {
            map.entry(kind).or_default().push(part.title());
            map
        },
    ) {
        let unique: BTreeSet<&&str> = titles.iter().collect();
        assert_eq!(unique.len(), titles.len(), "two {kind} parts have one title");
    }
}

#[test]
fn batteries_agree_with_their_chemistry() {
    for (id, battery) in &builtin().battery {
        let known = Reference::standard().chemistry(battery.chemistry.word()).unwrap();
        let cells = (battery.voltage / known.nominal).round();
        close(battery.voltage.get(), known.nominal.get() * cells, 1e-9, &format!("{id}: nominal voltage"));
        assert!(
            battery.cutoff < battery.voltage
                && battery.voltage < battery.float
                && battery.float < battery.absorption,
            "{id}"
        );
        let within = |volts: Volts, range: (Volts, Volts)| {
            volts >= range.0 * (cells * 0.9999) && volts <= range.1 * (cells * 1.0001)
        };
        assert!(within(battery.absorption, known.absorption), "{id}: absorption {}", battery.absorption);
        assert!(within(battery.float, known.float), "{id}: float {}", battery.float);
        assert!(battery.cutoff >= known.empty * cells, "{id}: cutoff {}", battery.cutoff);
        assert_eq!(battery.usable, known.usable, "{id}");
        assert!(battery.charge_coldest >= known.charge_temp.0, "{id}");
        assert!(
            battery.discharge_coldest >= known.discharge_temp.0 && battery.hottest <= known.discharge_temp.1,
            "{id}"
        );
        // The published ranges of the exponent.
        let peukert = Reference::standard().peukert(battery.chemistry.word()).unwrap().value;
        assert!((peukert.least..=peukert.most).contains(&battery.peukert), "{id}");
        let capacity = battery.capacity.get();
        assert!(
            battery.charge_limit.get() <= known.charge_c_rate * capacity + 0.5,
            "{id}: {}",
            battery.charge_limit
        );
        assert!(
            battery.discharge_limit.get() <= known.discharge_c_rate * capacity + 0.5,
            "{id}: {}",
            battery.discharge_limit
        );
        assert!(
            battery.surge_limit.is_some_and(|surge| surge >= battery.discharge_limit)
                && battery.surge_time.is_some(),
            "{id}"
        );
        // Ohm's law between what the sheet would give and what is inside; the charged battery stands above nominal.
        let short = battery.short_circuit.unwrap().get() * battery.internal_resistance.get();
        close(short, battery.voltage.get(), 0.08, &format!("{id}: short circuit x resistance"));
        // Typical cell resistance times capacity, per cell, in the reference; protection and links add to it.
        let per_cell = battery.internal_resistance.get() * capacity / cells;
        assert!(
            (0.8..2.2).contains(&(per_cell / known.cell_resistance_ohm_ah)),
            "{id}: {per_cell} Ω·Ah a cell"
        );
        // Common practice, no source: 90 to 170 Wh/kg for lithium iron phosphate, 25 to 55 for lead-acid.
        let density = battery.voltage.get() * capacity / battery.mass.get();
        let range = if battery.chemistry == Chemistry::Lfp { 90.0..170.0 } else { 25.0..55.0 };
        assert!(range.contains(&density), "{id}: {density:.0} Wh/kg");
        let stack = battery.voltage.get() * f64::from(battery.most_series);
        assert!((47.0..52.0).contains(&stack), "{id}: in series up to {stack} V");
    }
    for class in [
        "lfp-12v-100ah",
        "lfp-24v-100ah",
        "lfp-48v-100ah",
        "agm-12v-100ah",
        "gel-12v-100ah",
        "flooded-6v-225ah",
    ] {
        assert!(builtin().battery.contains_key(&Name::new(class).unwrap()), "{class}");
    }
}

#[test]
fn inverters_hold_together_and_run_down_to_the_cutoff() {
    for (id, inverter) in &builtin().inverter {
        assert!(inverter.power_hot <= inverter.power && inverter.power <= inverter.surge, "{id}");
        for share in [inverter.efficiency_quarter, inverter.efficiency_full] {
            assert!((0.5..1.0).contains(&share.get()), "{id}: efficiency {share}");
        }
        // Common practice, no source: a large unit idles at less than half a percent, a small one at nearly two.
        assert!((0.004..0.025).contains(&(inverter.idle / inverter.power)), "{id}: idle {}", inverter.idle);
        assert!(inverter.search.is_none_or(|search| search < inverter.idle), "{id}");
        assert!(matches!((inverter.output.get() as u32, inverter.frequency), (120, 60) | (230, 50)), "{id}");
        assert_eq!(inverter.charge.is_some(), inverter.transfer.is_some(), "{id}: a combined unit has both");
        assert_eq!(inverter.charge.is_some(), inverter.neutral_bond == NeutralBond::Switched, "{id}");
        assert!(
            inverter.lowest_input < inverter.voltage && inverter.voltage < inverter.highest_input,
            "{id}"
        );
        for battery in builtin().battery.values() {
            let series = (f64::from(class(inverter.voltage)) / battery.voltage.get()).round();
            if series < 1.0 {
                continue;
            }
            assert!(
                battery.cutoff * series >= inverter.lowest_input,
                "{id}: stops before a battery of {}",
                battery.voltage
            );
            assert!(
                battery.absorption * series <= inverter.highest_input,
                "{id}: too low a limit for {}",
                battery.voltage
            );
        }
    }
}

#[test]
fn the_inverter_terminal_takes_a_conductor_for_its_current() {
    // Ampacity in free air at 30 °C, 105 °C insulation: reference tables of the rule set the unit is sold under.
    for (id, inverter) in &builtin().inverter {
        let rules = if inverter.output.get() < 200.0 { RuleSet::Na } else { RuleSet::Iec };
        let place = reference::Place {
            ambient: quantity::Celsius::new(30.0),
            engine_space: false,
            bundled_current_carrying: 1,
            system: reference::SystemVoltage::Under50,
        };
        let current = inverter.power.get()
            / inverter.efficiency_full.get()
            / (f64::from(class(inverter.voltage)) * 0.933);
        let ampacity = Reference::standard()
            .ampacity(rules, inverter.max_gauge, reference::Insulation::C105, &place)
            .unwrap_or_else(|error| panic!("{id}: {error}"));
        assert!(
            ampacity.value.get() >= current,
            "{id}: {} carries {}, {current:.0} A needed",
            inverter.max_gauge,
            ampacity.value
        );
    }
}

#[test]
fn modules_keep_their_identities() {
    for (id, module) in &builtin().module {
        let product = module.power_voltage.get() * module.power_current.get();
        close(product, module.power.get(), 0.03, &format!("{id}: power against Vmp x Imp"));
        assert!(
            module.open_voltage > module.power_voltage && module.short_current > module.power_current,
            "{id}"
        );
        // Fill factor of crystalline silicon: common practice, no source.
        let fill = module.power.get() / (module.open_voltage.get() * module.short_current.get());
        assert!((0.70..0.85).contains(&fill), "{id}: fill factor {fill:.3}");
        assert!((-0.40..-0.20).contains(&module.voltage_coefficient.get()), "{id}");
        assert!((-0.50..-0.25).contains(&module.power_coefficient.get()), "{id}");
        // NEC 690.9: a series fuse of at least 1.56 times the short-circuit current must be allowed for (1.25 x 1.25).
        assert!(
            module.series_fuse.get() >= 1.25 * module.short_current.get(),
            "{id}: series fuse {}",
            module.series_fuse
        );
        // Power per area at 1000 W/m²: an efficiency of 12 to 24 %.
        let area = module.size[0].get() * module.size[1].get();
        let efficiency = module.power.get() / 1000.0 / area;
        assert!((0.12..0.24).contains(&efficiency), "{id}: efficiency {efficiency:.3}");
    }
}

#[test]
fn chargers_and_converters_hold_together() {
    let shares = |id: &Name, share: f64| assert!((0.5..1.0).contains(&share), "{id}: efficiency {share}");
    for (id, part) in &builtin().charger {
        shares(id, part.efficiency.get());
        assert!(matches!(part.input.get() as u32, 120 | 230), "{id}");
    }
    for (id, part) in &builtin().controller {
        shares(id, part.efficiency.get());
        assert!(part.highest_current >= part.current * 0.6, "{id}");
        let most = part.voltages.iter().map(|volts| volts.get()).fold(0.0, f64::max);
        assert!(part.highest_array.get() > 1.25 * most + part.start_above.get(), "{id}: no array fits in");
    }
    for (id, part) in &builtin().dcdc {
        shares(id, part.efficiency.get());
        // Energy: what goes in at a low 12 V is at least what comes out.
        let (into, out) =
            (part.input_current.get() * part.input.get(), part.current.get() * part.output.get());
        assert!(into >= out && into <= 1.5 * out, "{id}: {into} W in, {out} W out");
        assert!(part.lowest_input < part.input, "{id}");
    }
    for (id, part) in &builtin().converter {
        shares(id, part.efficiency.get());
        assert!(part.input != part.output, "{id}");
    }
    for (id, part) in &builtin().alternator {
        assert!((0.4..1.0).contains(&part.hot_share.get()), "{id}");
        assert!(
            (1.15..1.25).contains(&(part.set_voltage.get() / part.voltage.get())),
            "{id}: {}",
            part.set_voltage
        );
    }
}

#[test]
fn fuses_and_holders_are_those_of_the_reference() {
    for (id, fuse) in &builtin().fuse {
        assert_eq!(fuse.ratings, family(&fuse.family, id.as_str()).ratings, "{id}");
    }
    let sold: BTreeSet<&Name> = builtin().fuse.values().map(|fuse| &fuse.family).collect();
    let fits = |id: &Name, of: &Name, largest: Amps, voltage: Volts| {
        let known = family(of, id.as_str());
        assert!(known.ratings.contains(&largest), "{id}: {largest} is no rating of {of}");
        assert!(
            known.voltage_rating(false).is_some_and(|most| voltage <= most),
            "{id}: {voltage} is beyond {of}"
        );
        assert!(sold.contains(of), "{id}: no fuse of {of} to put in");
        // A family that opens only on short circuits guards no cable.
        assert!(known.gates.first().is_some_and(|gate| gate.multiple < 1.2), "{id}: {of}");
    };
    for (id, holder) in &builtin().fuse_holder {
        fits(id, &holder.family, holder.largest, holder.voltage);
    }
    for (id, panel) in &builtin().fuse_panel {
        fits(id, &panel.family, panel.largest, panel.voltage);
        assert!(panel.supply_gauge >= panel.max_gauge && panel.current >= panel.largest, "{id}");
    }
    for fuse in builtin().fuse.values() {
        let has_place = builtin().fuse_holder.values().any(|holder| holder.family == fuse.family);
        assert!(has_place, "no holder takes {}", fuse.family);
    }
    // For a large lithium bank at each voltage some holder must break at least 10 kA (ABYC E-11 requires interrupting
    // capacity for what the bank can give; several kA from one battery).
    for volts in [14.4, 28.8, 57.6] {
        let strong = builtin().fuse_holder.values().any(|holder| {
            let breaks = family(&holder.family, "holder").interrupts(Volts::new(volts), false);
            holder.voltage.get() >= volts
                && holder.largest.get() >= 400.0
                && breaks.is_some_and(|amps| amps.get() >= 10_000.0)
        });
        assert!(strong, "no strong holder at {volts} V");
    }
}

#[test]
fn breakers_are_rated_and_residual_currents_standard() {
    for (id, breaker) in &builtin().breaker {
        assert!(breaker.ac_voltage.is_some() != breaker.dc_voltage.is_some(), "{id}");
        assert!((1000.0..=20_000.0).contains(&breaker.interrupt.get()), "{id}");
        assert!(matches!(breaker.poles, 1 | 2), "{id}");
        if let Some(residual) = breaker.residual {
            // UL 943 class A: 4 to 6 mA; IEC 61008/61009: 30 mA (both from memory).
            let milliamps = residual.get() * 1000.0;
            assert!((4.0..=6.0).contains(&milliamps) || (milliamps - 30.0).abs() < 1e-9, "{id}: {residual}");
        }
        if breaker.ac_voltage.is_some() {
            let known = |rules| {
                Reference::standard()
                    .standard_ratings(rules, reference::FuseOrBreaker::Breaker)
                    .contains(&breaker.current)
            };
            assert!(
                known(RuleSet::Na) || known(RuleSet::Iec),
                "{id}: {} is no standard rating",
                breaker.current
            );
        }
    }
    // Every mains voltage has a residual-current device for each usual inlet.
    for (volts, amps) in [(120.0, 15.0), (120.0, 30.0), (120.0, 50.0), (230.0, 16.0), (230.0, 32.0)] {
        let found = builtin().breaker.values().any(|breaker| {
            breaker.residual.is_some()
                && breaker.poles == 2
                && breaker.ac_voltage.is_some_and(|rated| rated.get() >= volts)
                && (breaker.current.get() - amps).abs() < 0.5
        });
        assert!(found, "no two-pole residual-current device of {amps} A at {volts} V");
    }
}

fn has_lug(gauge: Gauge, stud: Stud) -> bool {
    builtin().lug.values().any(|lug| lug.gauge == gauge && lug.stud == stud)
}

#[test]
fn lugs_are_those_of_the_reference_and_fit_the_studs_of_the_parts() {
    for (id, lug) in &builtin().lug {
        assert!(
            Reference::standard().lug_for(lug.gauge, stud_key(lug.stud)).is_some(),
            "{id}: no such lug is made"
        );
    }
    let library = builtin();
    // Devices that name their largest conductor: that very size must have a lug for the stud, and so must the largest
    // of the other series that goes in.
    let mut ends: Vec<(&Name, Stud, Gauge)> = Vec::new();
    ends.extend(library.inverter.iter().map(|(id, part)| (id, part.stud, part.max_gauge)));
    ends.extend(library.fuse_panel.iter().map(|(id, part)| (id, part.stud, part.supply_gauge)));
    ends.extend(library.charger.iter().filter_map(|(id, part)| Some((id, part.stud?, part.max_gauge))));
    ends.extend(library.dcdc.iter().filter_map(|(id, part)| Some((id, part.stud?, part.max_gauge))));
    ends.extend(library.fuse_holder.iter().filter_map(|(id, part)| Some((id, part.stud?, part.max_gauge))));
    ends.extend(library.disconnect.iter().filter_map(|(id, part)| Some((id, part.stud?, part.max_gauge))));
    for (id, stud, largest) in ends {
        for series in [Gauge::AWG, Gauge::METRIC] {
            let gauge =
                series.iter().copied().rfind(|gauge| *gauge <= largest && *gauge <= Gauge::Metric(15_000));
            assert!(gauge.is_some_and(|gauge| has_lug(gauge, stud)), "{id}: no lug {gauge:?} for {stud}");
        }
    }
    // Devices without a named limit: every size from 8 AWG / 10 mm² up to the heaviest that the stud can take.
    let mut studs: BTreeSet<Stud> = library.battery.values().map(|part| part.stud).collect();
    studs.extend(library.busbar.values().map(|part| part.stud));
    studs.extend(library.shunt.values().map(|part| part.stud));
    studs.extend(library.relay.values().map(|part| part.stud));
    studs.extend(library.alternator.values().map(|part| part.stud));
    for stud in studs {
        let mut sizes = 0;
        for gauge in Gauge::AWG.iter().chain(Gauge::METRIC).filter(|gauge| **gauge >= Gauge::Awg(8)) {
            if Reference::standard().lug_for(*gauge, stud_key(stud)).is_some() {
                assert!(has_lug(*gauge, stud), "no lug {gauge} for {stud}");
                sizes += 1;
            }
        }
        assert!(sizes >= 3, "{stud}: only {sizes} sizes have a lug");
    }
}

#[test]
fn cables_weigh_what_their_copper_weighs() {
    const COPPER_KG_PER_M3: f64 = 8960.0;
    for (id, cable) in &builtin().cable {
        let cores = f64::from(cable.cores);
        let copper = cable.gauge.area().get() * 1e-6 * cores * COPPER_KG_PER_M3;
        let share = cable.mass.get() / copper;
        // A sheathed 2 x 0.75 mm² weighs 57 g/m, four times its copper (harmonised cable sheets, from memory); heavy ones 1.1.
        assert!((1.04..4.2).contains(&share), "{id}: {} is {share:.2} of its copper", cable.mass);
        // Cores of bare metal side by side would already be this wide.
        let bare = cable.gauge.diameter().get() * if cable.cores > 1 { 2.0 } else { 1.0 };
        assert!(
            cable.diameter.get() > 1.1 * bare && cable.diameter.get() < 4.5 * bare + 0.004,
            "{id}: {}",
            cable.diameter
        );
        if cable.cores == 1 && !id.as_str().starts_with("solar") {
            let known = Reference::standard().outer_diameter(cable.gauge).unwrap();
            close(cable.diameter.get(), known.value.get(), 0.05, &format!("{id}: diameter"));
        }
    }
    let covers = |gauges: &[Gauge], tinned: bool| {
        for gauge in gauges {
            let found = builtin()
                .cable
                .values()
                .any(|cable| cable.gauge == *gauge && cable.cores == 1 && cable.tinned == tinned);
            assert!(found, "no single conductor of {gauge}");
        }
    };
    covers(Gauge::AWG, true);
    covers(&Gauge::METRIC[1..16], true);
    covers(&Gauge::METRIC[1..16], false);
}

#[test]
fn ferrules_and_glands_cover_what_is_laid() {
    for gauge in Gauge::METRIC.iter().filter(|gauge| **gauge <= Gauge::Metric(1600)).chain(&Gauge::AWG[..7]) {
        let ferrule = builtin().ferrule.values().find(|ferrule| ferrule.gauge == *gauge);
        let known = Reference::standard().ferrule(*gauge).unwrap().value;
        assert_eq!(ferrule.unwrap_or_else(|| panic!("no ferrule for {gauge}")).sleeve, known.tube, "{gauge}");
    }
    for (id, gland) in &builtin().gland {
        assert!(gland.smallest < gland.largest && gland.largest < gland.hole, "{id}");
    }
    for (id, cable) in builtin().cable.iter().filter(|(_, cable)| cable.diameter.get() >= 0.003) {
        let fits = builtin()
            .gland
            .values()
            .any(|gland| gland.smallest <= cable.diameter && cable.diameter <= gland.largest);
        assert!(fits, "{id}: no gland for {}", cable.diameter);
    }
}

#[test]
fn loads_are_complete_and_plausible() {
    for (id, load) in &builtin().load {
        assert!(load.power.get() > 0.0, "{id}");
        assert_eq!(load.power_factor.is_some(), load.supply == Supply::Ac, "{id}: a power factor is for AC");
        if load.nature == LoadNature::Motor {
            assert!(
                load.start_power.is_some_and(|start| start.get() >= 1.4 * load.power.get()),
                "{id}: a motor starts harder than it runs"
            );
        }
        if load.nature == LoadNature::Resistive {
            assert!(load.start_power.is_none(), "{id}");
        }
        assert!(load.standby.is_none_or(|standby| standby.get() < 0.5 * load.power.get()), "{id}");
        assert_eq!(
            load.runs.is_some(),
            load.run_time.is_some(),
            "{id}: runs and how long one takes go together"
        );
        assert!(load.hours.is_some() != load.runs.is_some(), "{id}: say hours or runs");
        assert!(load.hours.is_none_or(|hours| hours.get() <= 24.0), "{id}");
        let busy = load.runs.zip(load.run_time).map_or(0.0, |(runs, time)| runs.get() * time.get());
        assert!(busy <= 24.0, "{id}: runs {busy} h a day");
        if load.run_time.is_some_and(|time| time.get() >= 3.0) {
            assert_eq!(
                load.continuous,
                Some(true),
                "{id}: three hours in one run are continuous (NEC article 100)"
            );
        }
        assert!(load.duty.is_none_or(|duty| (0.0..=1.0).contains(&duty.get())), "{id}");
        assert!(!load.voltages.is_empty(), "{id}");
        let supplies = match load.supply {
            Supply::Dc => [12.0, 24.0, 48.0].as_slice(),
            Supply::Ac => [120.0, 230.0].as_slice(),
        };
        assert!(
            load.voltages.iter().all(|volts| supplies.contains(&volts.get())),
            "{id}: {:?}",
            load.voltages
        );
        if let (Some(least), Some(first)) = (load.lowest_start, load.voltages.first()) {
            assert!((0.8..1.0).contains(&(least / *first)), "{id}: starts from {least}");
        }
    }
}

#[test]
fn fridges_take_what_fridges_take() {
    // Common practice, no source: 200 to 450 Wh a day for 40 to 90 L on a warm day, up to 700 Wh for 180 L.
    let day = |id: &str| {
        let load = &builtin().load[&Name::new(id).unwrap()];
        load.power.get() * load.duty.unwrap().get() * load.hours.unwrap().get()
    };
    for (id, least, most) in [
        ("fridge-40l", 200.0, 350.0),
        ("fridge-65l", 250.0, 420.0),
        ("fridge-90l", 300.0, 480.0),
        ("fridge-130l", 400.0, 600.0),
        ("fridge-180l", 450.0, 700.0),
        ("fridge-household-120l", 400.0, 900.0),
    ] {
        assert!((least..=most).contains(&day(id)), "{id}: {:.0} Wh a day", day(id));
    }
    assert!(day("fridge-40l") < day("fridge-65l") && day("fridge-65l") < day("fridge-130l"));
}

/// In each ladder the larger part is not lighter and not cheaper, and no step is so wide that a need falls through.
fn climbs(what: &str, ladder: Vec<(f64, &dyn PartFacts)>, widest_step: f64) {
    let mut ladder = ladder;
    assert!(ladder.len() >= 2, "{what}: no ladder");
    ladder.sort_by(|a, b| a.0.total_cmp(&b.0));
    for pair in ladder.windows(2) {
        let ((small, smaller), (large, larger)) = (pair[0], pair[1]);
        assert!(large <= widest_step * small, "{what}: nothing between {small} and {large}");
        assert!(
            larger.mass() >= smaller.mass(),
            "{what}: {} is lighter than {}",
            larger.title(),
            smaller.title()
        );
        assert!(
            middle(larger) >= middle(smaller),
            "{what}: {} is cheaper than {}",
            larger.title(),
            smaller.title()
        );
    }
}

#[test]
fn larger_parts_are_heavier_and_dearer_and_no_step_is_wide() {
    let library = builtin();
    for chemistry in Chemistry::ALL {
        for volts in [12.0, 12.8, 25.6, 51.2] {
            let ladder: Vec<(f64, &dyn PartFacts)> = library
                .battery
                .values()
                .filter(|part| {
                    part.chemistry == *chemistry && part.voltage.get() == volts && part.heated != Some(true)
                })
                .map(|part| (part.capacity.get(), part as &dyn PartFacts))
                .collect();
            if (*chemistry == Chemistry::Lfp) == (volts > 12.0) {
                climbs(&format!("{chemistry} {volts} V"), ladder, 2.0);
            }
        }
    }
    for volts in [12u32, 24, 48] {
        for output in [120u32, 230] {
            for is_combined in [false, true] {
                let ladder = library
                    .inverter
                    .values()
                    .filter(|part| {
                        class(part.voltage) == volts
                            && part.output.get() as u32 == output
                            && part.charge.is_some() == is_combined
                    })
                    .map(|part| (part.power.get(), part as &dyn PartFacts))
                    .collect();
                climbs(&format!("inverters {volts} V to {output} V"), ladder, 2.01);
            }
            let ladder = library
                .charger
                .values()
                .filter(|part| class(part.voltage) == volts && part.input.get() as u32 == output)
                .map(|part| (part.current.get(), part as &dyn PartFacts))
                .collect();
            climbs(&format!("chargers {volts} V from {output} V"), ladder, 1.7);
        }
    }
    for limit in [75.0, 100.0, 150.0, 250.0] {
        let ladder = library
            .controller
            .values()
            .filter(|part| part.tracks && part.highest_array.get() == limit)
            .map(|part| (part.current.get(), part as &dyn PartFacts))
            .collect();
        climbs(&format!("controllers to {limit} V"), ladder, 1.6);
    }
    let rigid = library.module.values().filter(|part| part.flexible != Some(true));
    climbs("modules", rigid.map(|part| (part.power.get(), part as &dyn PartFacts)).collect(), 2.0);
    let switches = library
        .disconnect
        .values()
        .filter(|part| part.for_array != Some(true) && part.poles == 1 && part.voltage.get() >= 60.0);
    climbs(
        "battery disconnects for 48 V",
        switches.map(|part| (part.current.get(), part as &dyn PartFacts)).collect(),
        1.6,
    );
    for insulation in [70.0, 90.0, 105.0] {
        for is_metric in [false, true] {
            let ladder: Vec<(f64, &dyn PartFacts)> = library
                .cable
                .iter()
                .filter(|(id, part)| {
                    part.cores == 1
                        && part.insulation.celsius().get() == insulation
                        && matches!(part.gauge, Gauge::Metric(_)) == is_metric
                        && !id.as_str().starts_with("solar")
                })
                .map(|(_, part)| (part.gauge.area().get(), part as &dyn PartFacts))
                .collect();
            if is_metric || insulation == 105.0 {
                climbs(&format!("cable {insulation} °C"), ladder, 1.7);
            }
        }
    }
}
