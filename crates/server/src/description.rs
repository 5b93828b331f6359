//! The service described in OpenAPI: from it the page's types are generated, and strangers' requests are made up in tests.
//! Never: describes what is not served.
//! Start at [`description`].

use utoipa::OpenApi;

use crate::wire;

/// The description, as data.
#[derive(OpenApi)]
#[openapi(
    info(title = "Wattwain", description = "The local service behind the page."),
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
        wire::Build,
        wire::Tick,
        wire::ReadingTaken,
        wire::Paper,
        wire::NewWork,
        wire::Work,
        wire::WorkEvent,
        wire::News
    ))
)]
struct Description;

/// The description as JSON, the same bytes each time.
///
/// # Errors
/// None that is known; the description is plain data.
pub fn description() -> Result<String, serde_json::Error> {
    Description::openapi().to_pretty_json().map(|text| text + "\n")
}
