//! How another device on the network is let in.
//! Never: carries what stays secret after it was used; a code opens once.
//! Start at [`Entry`].

use serde::Deserialize;
use utoipa::ToSchema;

/// The code that the terminal shows.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct Entry {
    /// The code; spaces, dashes and case do not count.
    #[schema(min_length = 1, max_length = 40)]
    pub code: String,
}
