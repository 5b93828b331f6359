//! What is asked place by place: numbers, because-chains, mends, questions, faults; parts to choose from; two projects side by side.
//! Never: changes anything.
//! Start at [`place`].

use axum::extract::State;
use serde::Deserialize;

use super::{At, Shared};
use crate::answer::{Answer, Asked, Params, Trouble};
use crate::{tell, wire};

/// Parts that are listed at most.
const MOST_PARTS: usize = 60;

/// Asks for a place.
#[derive(Debug, Deserialize)]
pub struct Id {
    id: String,
}

/// Asks for a path.
#[derive(Debug, Deserialize)]
pub struct ValuePath {
    path: String,
}

/// Asks for a finding.
#[derive(Debug, Deserialize)]
pub struct FindingAt {
    rule: String,
    place: String,
}

/// Asks for a group of questions.
#[derive(Debug, Deserialize)]
pub struct Group {
    group: String,
}

/// Asks for a fault.
#[derive(Debug, Deserialize)]
pub struct FaultAt {
    at: String,
}

/// Asks for two projects.
#[derive(Debug, Deserialize)]
pub struct Two {
    left: String,
    right: String,
}

/// Asks for parts.
#[derive(Debug, Deserialize)]
pub struct Wanted {
    #[serde(default)]
    kind: String,
    #[serde(default)]
    words: String,
    #[serde(default)]
    key: String,
}

/// One place of the diagram
#[utoipa::path(get, path = "/api/projects/{key}/place", tag = "places", params(("key" = String, Path), ("id" = String, Query)), responses((status = 200, body = wire::Place)))]
pub async fn place(
    State(app): Shared,
    At(key): At<String>,
    Params(asked): Params<Id>,
) -> Answer<wire::Place> {
    app.answer(move |app| {
        let now = app.desk.now(&key)?;
        tell::place(now.stand()?, &asked.id).ok_or_else(|| Trouble::missing("place", &asked.id))
    })
    .await
}

/// Why a value is what it is
#[utoipa::path(get, path = "/api/projects/{key}/why", tag = "places", params(("key" = String, Path), ("path" = String, Query)), responses((status = 200, body = [wire::Why])))]
pub async fn why(
    State(app): Shared,
    At(key): At<String>,
    Params(asked): Params<ValuePath>,
) -> Answer<Vec<wire::Why>> {
    app.answer(move |app| {
        let now = app.desk.now(&key)?;
        let chain = tell::why(now.stand()?, &asked.path);
        if chain.is_empty() { Err(Trouble::missing("value", &asked.path)) } else { Ok(chain) }
    })
    .await
}

/// What would mend a finding
#[utoipa::path(get, path = "/api/projects/{key}/mends", tag = "places", params(("key" = String, Path), ("rule" = String, Query), ("place" = String, Query)), responses((status = 200, body = wire::Mends)))]
pub async fn mends(
    State(app): Shared,
    At(key): At<String>,
    Params(asked): Params<FindingAt>,
) -> Answer<wire::Mends> {
    app.answer(move |app| {
        let now = app.desk.now(&key)?;
        tell::mends(now.stand()?, &asked.rule, &asked.place)
            .ok_or_else(|| Trouble::missing("finding", &asked.rule))
    })
    .await
}

/// What a change would do
#[utoipa::path(post, path = "/api/projects/{key}/effect", tag = "places", params(("key" = String, Path)), request_body = Vec<wire::Edit>, responses((status = 200, body = wire::Effect)))]
pub async fn effect(
    State(app): Shared,
    At(key): At<String>,
    Asked(edits): Asked<Vec<wire::Edit>>,
) -> Answer<wire::Effect> {
    app.answer(move |app| app.desk.effect(&key, &edits)).await
}

/// Questions nobody answered, the one that changes the most first
#[utoipa::path(get, path = "/api/projects/{key}/questions", tag = "places", params(("key" = String, Path)), responses((status = 200, body = [wire::Question])))]
pub async fn questions(State(app): Shared, At(key): At<String>) -> Answer<Vec<wire::Question>> {
    app.answer(move |app| Ok(tell::questions(app.desk.now(&key)?.stand()?))).await
}

/// The groups of questions under one name, such as `loads.fridge.more`
#[utoipa::path(get, path = "/api/projects/{key}/fields", tag = "places", params(("key" = String, Path), ("group" = String, Query)), responses((status = 200, body = [wire::FieldGroup])))]
pub async fn fields(
    State(app): Shared,
    At(key): At<String>,
    Params(asked): Params<Group>,
) -> Answer<Vec<wire::FieldGroup>> {
    app.answer(move |app| {
        let groups = tell::fields(app.desk.now(&key)?.stand()?, &asked.group);
        if groups.is_empty() { Err(Trouble::missing("group of questions", &asked.group)) } else { Ok(groups) }
    })
    .await
}

/// Where a fault can be tried
#[utoipa::path(get, path = "/api/projects/{key}/faults", tag = "places", params(("key" = String, Path)), responses((status = 200, body = [wire::FaultPlace])))]
pub async fn faults(State(app): Shared, At(key): At<String>) -> Answer<Vec<wire::FaultPlace>> {
    app.answer(move |app| Ok(tell::fault_places(app.desk.now(&key)?.stand()?))).await
}

/// What a fault at one of these places does
#[utoipa::path(get, path = "/api/projects/{key}/fault", tag = "places", params(("key" = String, Path), ("at" = String, Query)), responses((status = 200, body = wire::FaultStory)))]
pub async fn fault(
    State(app): Shared,
    At(key): At<String>,
    Params(asked): Params<FaultAt>,
) -> Answer<wire::FaultStory> {
    app.answer(move |app| {
        let now = app.desk.now(&key)?;
        tell::fault(now.stand()?, &asked.at).ok_or_else(|| Trouble::missing("place for a fault", &asked.at))
    })
    .await
}

/// Two projects side by side
#[utoipa::path(get, path = "/api/compare", tag = "projects", params(("left" = String, Query), ("right" = String, Query)), responses((status = 200, body = wire::Comparison)))]
pub async fn compare(State(app): Shared, Params(asked): Params<Two>) -> Answer<wire::Comparison> {
    app.answer(move |app| {
        let (left, right) = (app.desk.now(&asked.left)?, app.desk.now(&asked.right)?);
        Ok(tell::compare(left.stand()?, right.stand()?))
    })
    .await
}

/// Parts to choose from: the built-in ones, or with `key` those of a project
#[utoipa::path(get, path = "/api/parts", tag = "projects", params(("kind" = Option<String>, Query), ("words" = Option<String>, Query), ("key" = Option<String>, Query)), responses((status = 200, body = [wire::PartHit])))]
pub async fn parts(State(app): Shared, Params(asked): Params<Wanted>) -> Answer<Vec<wire::PartHit>> {
    app.answer(move |app| {
        if asked.key.is_empty() {
            return Ok(tell::parts(model::library::builtin(), &asked.kind, &asked.words, MOST_PARTS));
        }
        let now = app.desk.now(&asked.key)?;
        Ok(tell::parts(&now.stand()?.project.library, &asked.kind, &asked.words, MOST_PARTS))
    })
    .await
}
