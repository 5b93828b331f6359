//! The service described in OpenAPI: from it the page's types are generated, and strangers' requests are made up in tests.
//! Never: describes what is not served.
//! Start at [`description`].

use utoipa::openapi::path::{Operation, PathItem};
use utoipa::openapi::{ContentBuilder, Ref, RefOr, ResponseBuilder, Schema};
use utoipa::{Modify, OpenApi};

use crate::{routes, wire};

/// The description, as data.
#[derive(OpenApi)]
#[openapi(
    info(title = "Wattwain", description = "The local service behind the page."),
    paths(
        routes::projects::folder,
        routes::projects::begin,
        routes::projects::copy,
        routes::projects::view,
        routes::projects::change,
        routes::projects::go,
        routes::projects::states,
        routes::projects::weather,
        routes::places::place,
        routes::places::why,
        routes::places::mends,
        routes::places::effect,
        routes::places::questions,
        routes::places::fields,
        routes::places::faults,
        routes::places::fault,
        routes::places::compare,
        routes::places::parts,
        routes::board::board,
        routes::board::moved,
        routes::build::build,
        routes::build::tick,
        routes::build::reading,
        routes::build::papers,
        routes::build::paper,
        routes::streams::begin,
        routes::streams::events,
        routes::streams::stop,
        routes::streams::news,
        routes::about::enter,
        routes::about::description
    ),
    components(schemas(
        wire::Folder,
        wire::NewProject,
        wire::NewVariant,
        wire::Comparison,
        wire::View,
        wire::Part,
        wire::Change,
        wire::Go,
        wire::State,
        wire::Clash,
        wire::Fault,
        wire::Mends,
        wire::Effect,
        wire::Question,
        wire::PartHit,
        wire::Place,
        wire::Why,
        wire::FaultPlace,
        wire::FaultStory,
        wire::SizesOutcome,
        wire::Board,
        wire::BoardMove,
        wire::Build,
        wire::Tick,
        wire::ReadingTaken,
        wire::Paper,
        wire::NewWork,
        wire::Work,
        wire::WorkEvent,
        wire::News,
        wire::Entry
    )),
    modifiers(&Everywhere)
)]
struct Description;

/// What holds for every address: the faults that any request may meet.
struct Everywhere;

/// Status and when it comes.
const FAULTS: [(&str, &str); 14] = [
    ("400", "The request is not as described"),
    ("401", "The device was not let in"),
    ("403", "The request comes from somewhere else"),
    ("404", "There is no such thing"),
    ("405", "This cannot be done at this address"),
    ("408", "The request took too long to come"),
    ("413", "The body is too long"),
    ("414", "The address is too long"),
    ("415", "The body is of another kind"),
    ("421", "The host is not ours"),
    ("422", "The request is well formed, and cannot be done"),
    ("429", "Too many requests"),
    ("500", "Something went wrong here"),
    ("503", "The file is being changed all the time elsewhere"),
];

impl Modify for Everywhere {
    fn modify(&self, openapi: &mut utoipa::openapi::OpenApi) {
        for item in openapi.paths.paths.values_mut() {
            for operation in operations(item) {
                for (status, what) in FAULTS {
                    let fault = Ref::from_schema_name("Fault");
                    let content = ContentBuilder::new().schema(Some(RefOr::<Schema>::Ref(fault))).build();
                    let response =
                        ResponseBuilder::new().description(what).content("application/json", content).build();
                    operation.responses.responses.entry(status.to_owned()).or_insert(RefOr::T(response));
                }
            }
        }
    }
}

fn operations(item: &mut PathItem) -> impl Iterator<Item = &mut Operation> {
    [&mut item.get, &mut item.post, &mut item.put, &mut item.delete, &mut item.patch].into_iter().flatten()
}

/// The description as JSON, the same bytes each time.
///
/// # Errors
/// None that is known; the description is plain data.
pub fn description() -> Result<String, serde_json::Error> {
    Description::openapi().to_pretty_json().map(|text| text + "\n")
}
