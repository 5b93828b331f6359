//! Prints the OpenAPI description of the service, from which the page's types are generated.
#![allow(clippy::print_stdout)] // Printing is what it is for.

fn main() -> Result<(), serde_json::Error> {
    print!("{}", server::description()?);
    Ok(())
}
