//! The command line: begin, check, explain and pack a project; parts, rules, sources; quick answers without a project.
//! Never: computes anything itself; every number comes from the crates below, and the same one as in the documents.
//! Start at [`cli`] for the words, then the file of a command; `files` reads and writes, `show` prints.

mod answer;
mod ask;
mod begin;
mod board;
mod check;
mod cli;
mod compare;
mod faults;
mod findings;
mod open;
mod pack_files;
mod parts;
mod plan;
mod progress;
mod prove;
mod rule_pages;
mod schema;
mod show;
mod sizes;
mod sources;
mod steps;
mod trip;
mod why;
mod year;
mod years;

use std::process::ExitCode;

use clap::Parser;

use crate::answer::{Answer, Failure};
use crate::cli::{Cli, Command};
use crate::show::Screen;

fn main() -> ExitCode {
    let cli = Cli::parse();
    let out = Screen::stdout();
    match run(&cli, &out) {
        Ok(answer) => answer.print(),
        Err(failure) => failure.print(cli.json),
    }
}

fn run(cli: &Cli, screen: &Screen) -> Result<Answer, Failure> {
    match &cli.command {
        Command::Begin(args) => begin::run(args, cli.json),
        Command::Open(args) => open::run(args, screen),
        Command::Check(args) => check::run(args, cli.json, screen),
        Command::Year(args) => year::run(args, cli.json, screen),
        Command::Years(args) => years::run(args, cli.json, screen),
        Command::Trip(args) => trip::run(args, cli.json, screen),
        Command::Sizes(args) => sizes::run(args, cli.json, screen),
        Command::Why(args) => why::run(args, cli.json, screen),
        Command::Faults(args) => faults::run(args, cli.json, screen),
        Command::Board(args) => board::run(args, cli.json, screen),
        Command::Plan(args) => plan::run(args, cli.json, screen),
        Command::Compare(args) => compare::run(args, cli.json, screen),
        Command::Pack(args) => pack_files::run(args, cli.json),
        Command::Steps(args) => steps::run(args, cli.json, screen),
        Command::Prove(args) => prove::run(args, cli.json, screen),
        Command::Ask(args) => ask::run(&args.question, cli.json, screen),
        Command::Parts(args) => parts::run(args, cli.json, screen),
        Command::Rules(args) => rule_pages::run(args, cli.json, screen),
        Command::Sources(args) => sources::run(args, cli.json, screen),
        Command::Schema => schema::run(),
    }
}
