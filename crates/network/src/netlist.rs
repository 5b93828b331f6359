//! The network as a list of nodes and two-terminal elements, with the values that the solver reads.
//! Never: computes; checks of values happen in `Netlist::check`, which every solver calls first.
//! Start at [`Netlist`]; each method adds one kind of element and says which way its current counts positive.

use quantity::{Amps, Ohms, Volts, Watts};

/// A point where conductors meet. Indices are dense: the first node made is 0.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct NodeId(pub(crate) u32);

impl NodeId {
    /// Position in the netlist's list of nodes.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// One element of a netlist. Indices are dense: the first element made is 0.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct ElementId(pub(crate) u32);

impl ElementId {
    /// Position in the netlist's list of elements.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// What a constant-power load does when the voltage at its terminals falls below its cutoff.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BelowCutoff {
    /// It keeps drawing the current it drew at the cutoff voltage.
    ConstantCurrent,
    /// It switches off, and stays off.
    Stops,
}

/// What an element is; all values in SI base units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Kind {
    /// Current counts from `a` to `b`.
    Resistor { ohms: f64 },
    /// `a` is plus; current counts out of plus.
    Emf { volts: f64, ohms: f64 },
    /// Draws a fixed current out of `a`, into `b`.
    Current { amps: f64 },
    /// Draws a fixed power from `a` to `b`.
    Power { watts: f64, cutoff: Option<(f64, BelowCutoff)> },
    /// `a` is plus; delivers `clamp((volts − u)/ohms, 0, limit)`.
    Limited { volts: f64, limit: f64, ohms: f64 },
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Element {
    pub a: u32,
    pub b: u32,
    pub kind: Kind,
}

/// A network of nodes and elements. Build it, then [`solve`](crate::solve) it, or ask for
/// [`fault`](crate::fault) currents.
///
/// Voltages are relative to the reference node of each island (see [`Island`](crate::Island)). Adding never
/// fails; values that make no sense (negative ohms, not a number) are reported by the solver, with the
/// element.
#[derive(Clone, Default, Debug)]
pub struct Netlist {
    pub(crate) names: Vec<String>,
    pub(crate) elements: Vec<Element>,
    pub(crate) reference: Option<NodeId>,
}

impl Netlist {
    /// An empty network.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a node. The name is for people and exports; it may be empty and need not be unique.
    pub fn node(&mut self, name: impl Into<String>) -> NodeId {
        self.names.push(name.into());
        NodeId((self.names.len() - 1) as u32)
    }

    /// Declares the node whose voltage is zero. Islands without it use their lowest-index node.
    pub fn set_reference(&mut self, node: NodeId) {
        self.reference = Some(node);
    }

    /// How many nodes there are.
    pub fn node_count(&self) -> usize {
        self.names.len()
    }

    /// How many elements there are.
    pub fn element_count(&self) -> usize {
        self.elements.len()
    }

    /// The node's name as given; empty if it has none.
    pub fn name(&self, node: NodeId) -> &str {
        self.names.get(node.index()).map_or("", String::as_str)
    }

    /// The node at a position, or `None` past the end.
    pub fn node_at(&self, index: usize) -> Option<NodeId> {
        (index < self.names.len()).then_some(NodeId(index as u32))
    }

    /// The element at a position, or `None` past the end.
    pub fn element_at(&self, index: usize) -> Option<ElementId> {
        (index < self.elements.len()).then_some(ElementId(index as u32))
    }

    /// The two nodes of an element in the order given when it was added.
    pub fn ends(&self, element: ElementId) -> Option<(NodeId, NodeId)> {
        self.elements.get(element.index()).map(|e| (NodeId(e.a), NodeId(e.b)))
    }

    fn push(&mut self, a: NodeId, b: NodeId, kind: Kind) -> ElementId {
        self.elements.push(Element { a: a.0, b: b.0, kind });
        ElementId((self.elements.len() - 1) as u32)
    }

    /// A conductor, contact or resistive load: `ohms` > 0 [Ω]. Its current counts positive from `a` to `b`.
    pub fn resistor(&mut self, a: NodeId, b: NodeId, ohms: Ohms) -> ElementId {
        self.push(a, b, Kind::Resistor { ohms: ohms.get() })
    }

    /// A battery or other two-way source: `volts` [V] behind `internal` > 0 [Ω]. Its current counts positive
    /// when it delivers, and is negative while it is being charged.
    pub fn emf(&mut self, plus: NodeId, minus: NodeId, volts: Volts, internal: Ohms) -> ElementId {
        self.push(plus, minus, Kind::Emf { volts: volts.get(), ohms: internal.get() })
    }

    /// A fixed current drawn out of `from` and returned into `to` [A]; negative amps push the other way.
    pub fn current(&mut self, from: NodeId, to: NodeId, amps: Amps) -> ElementId {
        self.push(from, to, Kind::Current { amps: amps.get() })
    }

    /// A load that draws the same power at any voltage: `watts` >= 0 [W]. `cutoff`, if given, is the voltage
    /// below which it behaves otherwise. Its current counts positive from `from` to `to`.
    pub fn constant_power(
        &mut self,
        from: NodeId,
        to: NodeId,
        watts: Watts,
        cutoff: Option<(Volts, BelowCutoff)>,
    ) -> ElementId {
        let cutoff = cutoff.map(|(volts, then)| (volts.get(), then));
        self.push(from, to, Kind::Power { watts: watts.get(), cutoff })
    }

    /// A charger, controller or array: holds `volts` [V] behind `internal` > 0 [Ω] until it delivers `limit`
    /// >= 0 [A], then delivers that. It never takes current. Its current counts positive when it delivers.
    pub fn limited_source(
        &mut self,
        plus: NodeId,
        minus: NodeId,
        volts: Volts,
        limit: Amps,
        internal: Ohms,
    ) -> ElementId {
        self.push(plus, minus, Kind::Limited { volts: volts.get(), limit: limit.get(), ohms: internal.get() })
    }

    /// Changes the resistance of a resistor or the internal resistance of a source; nothing else has one, and
    /// stays as it is.
    pub fn set_ohms(&mut self, element: ElementId, value: Ohms) {
        if let Some(e) = self.elements.get_mut(element.index()) {
            match &mut e.kind {
                Kind::Resistor { ohms } | Kind::Emf { ohms, .. } | Kind::Limited { ohms, .. } => {
                    *ohms = value.get();
                }
                Kind::Current { .. } | Kind::Power { .. } => {}
            }
        }
    }

    /// Changes the voltage of a source; other elements stay as they are.
    pub fn set_volts(&mut self, element: ElementId, value: Volts) {
        if let Some(e) = self.elements.get_mut(element.index())
            && let Kind::Emf { volts, .. } | Kind::Limited { volts, .. } = &mut e.kind
        {
            *volts = value.get();
        }
    }

    /// Changes a fixed current, or the limit of a limited source; other elements stay as they are.
    pub fn set_amps(&mut self, element: ElementId, value: Amps) {
        if let Some(e) = self.elements.get_mut(element.index())
            && let Kind::Current { amps } | Kind::Limited { limit: amps, .. } = &mut e.kind
        {
            *amps = value.get();
        }
    }

    /// Changes the power of a constant-power load; other elements stay as they are.
    pub fn set_watts(&mut self, element: ElementId, value: Watts) {
        if let Some(e) = self.elements.get_mut(element.index())
            && let Kind::Power { watts, .. } = &mut e.kind
        {
            *watts = value.get();
        }
    }

    /// The resistance of a resistor or the internal resistance of a source; `None` for other elements.
    pub fn ohms(&self, element: ElementId) -> Option<Ohms> {
        match self.elements.get(element.index())?.kind {
            Kind::Resistor { ohms } | Kind::Emf { ohms, .. } | Kind::Limited { ohms, .. } => {
                Some(Ohms::new(ohms))
            }
            Kind::Current { .. } | Kind::Power { .. } => None,
        }
    }

    /// A fixed current, or the limit of a limited source; `None` for other elements.
    pub fn amps(&self, element: ElementId) -> Option<Amps> {
        match self.elements.get(element.index())?.kind {
            Kind::Current { amps } | Kind::Limited { limit: amps, .. } => Some(Amps::new(amps)),
            _ => None,
        }
    }

    /// What a constant-power load asks for; `None` for other elements.
    pub fn watts(&self, element: ElementId) -> Option<Watts> {
        match self.elements.get(element.index())?.kind {
            Kind::Power { watts, .. } => Some(Watts::new(watts)),
            _ => None,
        }
    }

    /// The first value that the solver could not use, with what is wrong and what would be accepted.
    pub(crate) fn check(&self) -> Result<(), (ElementId, &'static str)> {
        let n = self.names.len() as u32;
        let positive = |x: f64| x > 0.0 && x.is_finite();
        for (i, e) in self.elements.iter().enumerate() {
            let wrong = if e.a >= n || e.b >= n {
                Some("it joins a node of another netlist; use nodes made by this one")
            } else if e.a == e.b {
                Some("both its ends are the same node; join two different ones, or leave it out")
            } else {
                match e.kind {
                    Kind::Resistor { ohms } if !positive(ohms) => Some(
                        "its resistance must be above 0 Ω; join the two nodes into one for a perfect connection",
                    ),
                    Kind::Emf { ohms, .. } | Kind::Limited { ohms, .. } if !positive(ohms) => {
                        Some("its internal resistance must be above 0 Ω")
                    }
                    Kind::Emf { volts, .. } if !volts.is_finite() => {
                        Some("its voltage must be a finite number")
                    }
                    Kind::Current { amps } if !amps.is_finite() => {
                        Some("its current must be a finite number")
                    }
                    Kind::Power { watts, .. } if !(watts >= 0.0 && watts.is_finite()) => {
                        Some("its power must be 0 W or more; describe a source as a limited source")
                    }
                    Kind::Power { cutoff: Some((volts, _)), .. } if !positive(volts) => {
                        Some("its cutoff must be above 0 V; leave it out for a load without one")
                    }
                    Kind::Limited { volts, limit, .. }
                        if !(volts.is_finite() && limit >= 0.0 && limit.is_finite()) =>
                    {
                        Some("its voltage must be finite and its limit 0 A or more")
                    }
                    _ => None,
                }
            };
            if let Some(what) = wrong {
                return Err((ElementId(i as u32), what));
            }
        }
        Ok(())
    }
}
