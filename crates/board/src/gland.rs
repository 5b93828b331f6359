//! The gland and the grommet for a cable: one choice for the plan of the vehicle and for the schedule of holes.
//! Never: holds a figure of its own; sizes are those of the reference table or of a part.
//! Start at [`gland_for`].

use model::Library;
use model::parts::PartFacts;
use quantity::Metres;
use reference::{Provenance, Reference};

/// A gland that clamps a cable.
#[derive(Clone, Debug, PartialEq)]
pub struct GlandFit {
    /// Its thread, `M20`; of a part that is none of the table's, its title.
    pub thread: String,
    /// Hole to drill for it.
    pub hole: Metres,
    /// The part to buy, `gland.ID`; `None` where the library has none for this cable.
    pub part: Option<String>,
    /// Document behind it; a part's own figures come before the table's.
    pub source: (&'static str, Provenance),
}

/// The gland for a cable of an outside diameter: the part of the library with the smallest hole that clamps it, the cheapest of
/// equals; where no part does, the smallest of the reference table. `None` where nothing clamps it.
pub fn gland_for(library: &Library, outside: Metres) -> Option<GlandFit> {
    let listed = Reference::standard().gland(outside);
    let fits =
        library.gland.iter().filter(|(_, gland)| gland.smallest <= outside && outside <= gland.largest);
    let part = fits.min_by(|a, b| {
        let by_hole = a.1.hole.get().total_cmp(&b.1.hole.get());
        by_hole.then_with(|| a.1.price().1.get().total_cmp(&b.1.price().1.get())).then_with(|| a.0.cmp(b.0))
    });
    let Some((id, gland)) = part else {
        return listed.map(|listed| GlandFit {
            thread: listed.value.thread,
            hole: listed.value.hole,
            part: None,
            source: (listed.cite.source, listed.cite.provenance),
        });
    };
    // A hole within half a millimetre over the thread is the hole of that thread (EN 62444).
    let own = listed.filter(|listed| (listed.value.hole - gland.hole).abs() <= Metres::new(0.000_5));
    let part = Some(format!("gland.{id}"));
    let source = own.as_ref().map(|listed| (listed.cite.source, listed.cite.provenance));
    Some(GlandFit {
        thread: own.map_or_else(|| gland.title().to_owned(), |listed| listed.value.thread),
        hole: gland.hole,
        part,
        source: source.unwrap_or(("practice", Provenance::Memory)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The parts of the library are the rows of the table: what clamps a cable and what is drilled is said once.
    #[test]
    fn the_glands_of_the_library_are_those_of_the_table() {
        let library = model::library::builtin();
        assert!(library.gland.len() >= 8);
        for (id, gland) in &library.gland {
            let middle = (gland.smallest + gland.largest) / 2.0;
            let thickest = Reference::standard().gland(gland.largest).expect("listed").value;
            assert_eq!(
                (gland.smallest, gland.largest, gland.hole),
                (thickest.least, thickest.most, thickest.hole),
                "{id}"
            );
            assert_eq!(id.as_str(), format!("gland-{}", thickest.thread.to_lowercase()));
            let fit = gland_for(library, middle).expect("clamps");
            assert!(fit.part.is_some() && fit.hole <= gland.hole, "{id}: {fit:?}");
        }
    }

    #[test]
    fn a_cable_that_no_part_clamps_takes_the_row_and_a_part_of_ones_own_goes_first() {
        let mut library = model::library::builtin().clone();
        let outside = Metres::new(0.012);
        let usual = gland_for(&library, outside).expect("clamps");
        assert_eq!((usual.thread.as_str(), usual.part.as_deref()), ("M20", Some("gland.gland-m20")));
        let wide = library.gland.values().next().expect("a gland").clone();
        let own = model::parts::Gland {
            title: "Wide".to_owned(),
            smallest: Metres::new(0.010),
            largest: Metres::new(0.060),
            hole: Metres::new(0.0165),
            ..wide
        };
        library.gland.clear();
        let bare = gland_for(&library, outside).expect("clamps");
        assert_eq!((bare.thread.as_str(), bare.part), ("M20", None));
        assert!(gland_for(&library, Metres::new(0.050)).is_none());
        library.gland.insert(model::Name::new("wide").expect("a name"), own);
        let fit = gland_for(&library, Metres::new(0.050)).expect("clamps");
        assert_eq!((fit.thread.as_str(), fit.part.as_deref()), ("Wide", Some("gland.wide")));
    }
}
