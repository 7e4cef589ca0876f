//! What can be typed.

use std::ffi::OsStr;

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

use crate::library::SHEETS;

/// Any name or file of a sheet; a shell offers those of the library.
#[derive(Clone, Debug)]
struct SheetName;

impl TypedValueParser for SheetName {
    type Value = String;

    fn parse_ref(
        &self,
        command: &clap::Command,
        argument: Option<&clap::Arg>,
        value: &OsStr,
    ) -> Result<String, clap::Error> {
        StringValueParser::new().parse_ref(command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(SHEETS.iter().map(|it| PossibleValue::new(it.name))))
    }
}

/// Unit-checked calculation sheets for stopping motor-driven machines: how long, how far, which brake, and how far people must be kept away.
#[derive(Debug, Parser)]
#[command(name = "standstill", version, about)]
#[command(
    after_help = "Exit codes: 0 all holds; 1 a check fails; 2 the input is wrong; 3 the sheet is wrong; 4 a file could not be read or written.\n\nThe figures are a calculation, to be checked by a competent person and confirmed by measured stops on the real machine."
)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
    /// A further folder in which sheets are looked for; may be repeated
    #[arg(long = "sheets", value_name = "DIR", global = true)]
    pub(super) folders: Vec<std::path::PathBuf>,
}

/// Whether the command that is asked for takes inputs as words.
pub(super) fn takes_inputs(words: &[String]) -> bool {
    let all = Arguments::command();
    let asked = words.iter().find_map(|word| all.find_subcommand(word));
    let is_input = |it: &clap::Arg| ["inputs", "question"].contains(&it.get_id().as_str());
    asked.is_some_and(|command| command.get_arguments().any(is_input))
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Calculate a sheet: results, checks, settings
    Run(Run),
    /// List the sheets of the library, the kinds, the units, or the names of problems
    List(List),
    /// Show the inputs, results and sources of one sheet
    Show(Show),
    /// Check sheets without running them: names, units, traps; run the cases beside them; put blanks in order
    Prove(Prove),
    /// Write an empty workbook to be filled in: names, units, ranges, room for the results
    Form(FreshForm),
    /// Find the largest or smallest input with which every check holds
    Design(Design),
    /// Read the inputs from a workbook, run what it asks for, write the results back in place
    Fill(Fill),
    /// Calculate a product line: one variant in each row of a table, the results as further columns
    Range(Range),
    /// Print the completions for a shell: bash, elvish, fish, powershell or zsh
    Completions(Completions),
    /// Write the manual pages, one for each command
    Manual(Manual),
    /// Serve an editor: problems while typing, kinds and values, completions, renaming
    Editor(Editor),
    /// Make a design review of a text with sheets in it: one page in which every number can be followed and tried
    Review(Review),
    /// Evaluate recorded stops: their figures with uncertainty, a protocol to be signed, the distance issued from them
    Measured(Measured),
}

#[derive(Debug, Args)]
pub(super) struct Run {
    /// A sheet of the library, or a file of your own (`name.sheet`); `-` reads JSON with the sheet and many rows from
    /// standard input
    #[arg(value_parser = SheetName, hide_possible_values = true)]
    pub(super) sheet: String,
    /// Inputs, such as n_0='1450 r/min ± 2 %' edition=2010 t_k='312 ms, 318 ms'
    #[arg(value_name = "NAME=VALUE")]
    pub(super) inputs: Vec<String>,
    #[command(flatten)]
    pub(super) given: InputSource,
    /// Take the sheet's example for every input that is not given
    #[arg(long, conflicts_with_all = ["from", "at", "bind", "row"])]
    pub(super) example: bool,
    /// Show every line as formula, values, result
    #[arg(long)]
    pub(super) steps: bool,
    /// Also write the results to a new workbook, every line as a live formula
    #[arg(short, long, value_name = "RESULT.xlsx")]
    pub(super) output: Option<String>,
    /// Overwrite an existing file
    #[arg(long, requires = "output")]
    pub(super) force: bool,
    /// Print the worst case within the tolerances of the inputs, such as t_sensor='20 ms ± 2 ms'
    #[arg(long, conflicts_with = "steps")]
    pub(super) worst: bool,
    /// Print sensitivities: the change of each result for +1 % of each input
    #[arg(long, group = "moved", conflicts_with_all = ["steps", "worst", "output", "force", "seed"])]
    pub(super) slopes: bool,
    /// Print percentiles over this many random draws from the tolerances
    #[arg(
        long,
        value_name = "DRAWS",
        group = "moved",
        conflicts_with_all = ["steps", "worst", "slopes", "output", "force"],
        value_parser = clap::value_parser!(u32).range(1..=1_000_000)
    )]
    pub(super) spread: Option<u32>,
    /// Seed of the draws: the same seed gives the same draws
    #[arg(long, default_value_t = 1, requires = "spread")]
    pub(super) seed: u64,
    /// Show these results only (with --slopes or --spread)
    #[arg(long, value_name = "RESULT", value_delimiter = ',', requires = "moved")]
    pub(super) of: Vec<String>,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct Design {
    /// A sheet of the library, or a file of your own (`name.sheet`)
    #[arg(value_parser = SheetName, hide_possible_values = true)]
    pub(super) sheet: String,
    /// Such as 'S<=600 mm' by t_ramp from '0.1 s' to '1 s' in steps of '0.01 s' largest n_0='1450 r/min';
    /// with a second `by`, the first input is taken as far as any setting of the second allows
    #[arg(value_name = "QUESTION", required = true)]
    pub(super) question: Vec<String>,
    #[command(flatten)]
    pub(super) given: InputSource,
    /// Answer for every variant of a product line
    #[arg(long, value_name = "BOOK", conflicts_with_all = ["from", "at", "bind", "row", "table", "of", "plot", "example"])]
    pub(super) line: Option<String>,
    /// Take the sheet's example for every input that is not given
    #[arg(long, conflicts_with_all = ["from", "at", "bind", "row"])]
    pub(super) example: bool,
    /// Everything must hold over the tolerances of the other inputs, not only for their nominal values
    #[arg(long)]
    pub(super) worst: bool,
    /// Also print a table over the range of the first input: where everything holds and where not
    #[arg(long)]
    pub(super) table: bool,
    /// Also print a picture over the ranges of one or two inputs: where each check holds
    #[arg(long)]
    pub(super) plot: bool,
    /// Show these results in the table beside those with a bound
    #[arg(long, value_name = "RESULT", value_delimiter = ',', requires = "table")]
    pub(super) of: Vec<String>,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct List {
    /// `sheets`, `kinds`, `units`, `problems`, the name of one problem, or words by which to look for a sheet: curtain, 13855, "how long does it coast"
    pub(super) what: Vec<String>,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Listed {
    /// The library, grouped by step of the job
    Sheets,
    /// Kinds of quantity with their units
    Kinds,
    /// Every unit with its exact definition
    Units,
    /// Names of problems and what they check
    Problems,
}

#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell
    pub(super) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(super) struct Manual {
    /// The folder for the pages, such as ~/.local/share/man/man1
    #[arg(value_name = "DIR")]
    pub(super) folder: String,
}

/// Started by an editor, as the language server for files `*.sheet`; they speak over standard input and output.
#[derive(Debug, Args)]
pub(super) struct Editor {
    /// Print the grammar by which an editor colours sheets, in JSON, and end
    #[arg(long)]
    pub(super) grammar: bool,
}

#[derive(Debug, Args)]
pub(super) struct Show {
    /// A sheet of the library, or a file of your own
    #[arg(value_parser = SheetName, hide_possible_values = true)]
    pub(super) sheet: String,
    /// Print the text of the sheet itself
    #[arg(long, conflicts_with = "json")]
    pub(super) text: bool,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct Prove {
    /// Sheet files, folders of them, or names of the library; none: the whole library. The cases beside a file,
    /// `NAME.cases`, are run
    #[arg(value_parser = SheetName, hide_possible_values = true)]
    pub(super) sheets: Vec<String>,
    /// How problems are printed
    #[arg(long, value_enum, default_value_t = Form::Long)]
    pub(super) form: Form,
    /// Treat cautions as problems
    #[arg(long)]
    pub(super) strict: bool,
    /// Put the blanks of sheet files in order instead; `-` takes standard input to standard output
    #[arg(long, requires = "sheets", conflicts_with = "strict")]
    pub(super) tidy: bool,
    /// With --tidy: write nothing, and exit with code 1 if a file is not in order
    #[arg(long, requires = "tidy", conflicts_with = "strict")]
    pub(super) check: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Form {
    /// With the text underlined
    Long,
    /// One line a problem, for editors
    Line,
    /// One JSON object a problem
    Json,
}

#[derive(Debug, Args)]
pub(super) struct FreshForm {
    /// Sheets of the library, or files of your own (`name.sheet`); each becomes a tab
    #[arg(required_unless_present = "all")]
    #[arg(value_parser = SheetName, hide_possible_values = true)]
    pub(super) sheets: Vec<String>,
    /// Every sheet of the library
    #[arg(long, conflicts_with = "sheets")]
    pub(super) all: bool,
    /// The workbook (`.xlsx`) to be written, or the page (`.html`), which calculates in a browser
    #[arg(short, long, value_name = "FORM.xlsx|.html")]
    pub(super) output: String,
    /// Fill in the sheets' examples
    #[arg(long)]
    pub(super) example: bool,
    /// Add a tab for the sheets that each uses: their inputs and results
    #[arg(long)]
    pub(super) uses: bool,
    /// Leave room for tolerances, and for the lowest and highest value of each result
    #[arg(long)]
    pub(super) worst: bool,
    /// Overwrite an existing file
    #[arg(long)]
    pub(super) force: bool,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct Fill {
    /// The workbook
    pub(super) book: String,
    /// Write to another file and leave the workbook as it is
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<String>,
    /// Overwrite an existing file
    #[arg(long, requires = "output")]
    pub(super) force: bool,
    /// A bind file, for a workbook whose layout cannot be touched
    #[arg(long, value_name = "FILE")]
    pub(super) bind: Option<String>,
    /// Allow what is refused otherwise
    #[arg(long, value_enum, value_name = "WHAT")]
    pub(super) allow: Vec<Allowed>,
    /// Only the calculations of this sheet, or the one that this cell asks for, such as Saw!A1
    #[arg(long, value_name = "SHEET|CELL")]
    pub(super) only: Option<String>,
    /// Show the worst case within the tolerances of the inputs; cells such as `S highest` take it with or without
    #[arg(long)]
    pub(super) worst: bool,
    /// Print what would be written, write nothing
    #[arg(long)]
    pub(super) dry_run: bool,
    /// As --dry-run, and exit with code 1 if anything would be written (for a build server)
    #[arg(long, conflicts_with = "output")]
    pub(super) check: bool,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

impl Fill {
    /// Whether the files stay as they are.
    pub(super) fn writes_nothing(&self) -> bool {
        self.dry_run || self.check
    }
}

/// Inputs from a workbook.
#[derive(Debug, Args)]
pub(super) struct InputSource {
    /// Take the inputs from a workbook that asks for the sheet; inputs given as name=value take precedence
    #[arg(long, value_name = "BOOK")]
    pub(super) from: Option<String>,
    /// The cell that asks for the sheet, if more than one does, such as 'Second axis!B2'
    #[arg(long, value_name = "TAB!CELL", requires = "from")]
    pub(super) at: Option<String>,
    /// A bind file for that workbook
    #[arg(long, value_name = "FILE", requires = "from")]
    pub(super) bind: Option<String>,
    /// Take the inputs of this variant of a product line: its number, counted from 1, its name, or its row
    /// in the table, such as 'row 5'
    #[arg(long, value_name = "VARIANT", requires = "from", conflicts_with_all = ["at", "bind"])]
    pub(super) row: Option<String>,
}

/// What `fill` refuses to touch unless it is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Allowed {
    /// Cells that hold a formula
    Formulas,
    /// Numbers in the cells of results that no run has written
    Numbers,
    /// Locked cells of a protected tab
    Locked,
    /// The digital signature of the workbook, which a change breaks
    Signature,
}

/// One variant a row. The header row is the one with the most names of inputs and results; units stand in the
/// headings (`n_0 / (r/min)`) or in a row directly below. A cell `sheet NAME` above the table names the sheet;
/// rows of name, value, unit below that cell are inputs that all variants share.
#[derive(Debug, Args)]
#[command(
    after_help = "Results go into the columns that bear their names; where there is none, all are appended after the last column. \
A column `status` says in words how each variant came out. A wrong row is named with its cell, its results are emptied, and the others go on.\n\n\
In a .csv the separator stays, and every field that is not a result stays byte for byte. A text that is written and begins with = + - @ gets an \
apostrophe in front, so that no office program takes it for a formula.\n\n\
Exit codes: 0 all holds; 1 a check fails; 2 a row, or the head of the table, is wrong; 3 the sheet is wrong; 4 a file could not be read or written."
)]
pub(super) struct Range {
    /// The workbook, or a .csv
    pub(super) book: String,
    /// The sheet, if no cell `sheet NAME` names it
    pub(super) sheet: Option<String>,
    /// Write to another file and leave the workbook as it is
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<String>,
    /// Overwrite an existing file
    #[arg(long)]
    pub(super) force: bool,
    /// The tab that holds the table
    #[arg(long, value_name = "NAME")]
    pub(super) tab: Option<String>,
    /// Also append the results that have no column
    #[arg(long)]
    pub(super) all: bool,
    /// The worst case of each variant: columns for the lowest and highest of each result, and the status over the
    /// tolerances; columns headed so take it with or without
    #[arg(long)]
    pub(super) worst: bool,
    /// Print the sensitivities of each result over the whole line; write nothing
    #[arg(long, conflicts_with_all = ["output", "changed", "worst"])]
    pub(super) slopes: bool,
    /// Show these results only (with --slopes)
    #[arg(
        long,
        value_name = "RESULT",
        value_delimiter = ',',
        requires = "slopes",
        conflicts_with_all = ["output", "changed", "worst"]
    )]
    pub(super) of: Vec<String>,
    /// Compare with the results already there: which variants moved, and by how much; write nothing
    #[arg(long, conflicts_with = "output")]
    pub(super) changed: bool,
    /// Read 1,5 in a .csv as one and a half
    #[arg(long)]
    pub(super) decimal_comma: bool,
    /// Print what would be written, write nothing
    #[arg(long)]
    pub(super) dry_run: bool,
    /// As --dry-run, and exit with code 1 if anything would be written (for a build server)
    #[arg(long, conflicts_with_all = ["output", "slopes", "changed"])]
    pub(super) check: bool,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

impl Range {
    /// Whether the files stay as they are.
    pub(super) fn writes_nothing(&self) -> bool {
        self.dry_run || self.check
    }
}

#[derive(Debug, Args)]
pub(super) struct Review {
    /// The document: CommonMark with fenced blocks of the kind `sheet`
    #[arg(value_name = "DOC.md")]
    pub(super) document: String,
    /// The file of the review (default: beside the document)
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<String>,
    /// Overwrite an existing file that is not a review
    #[arg(long)]
    pub(super) force: bool,
    /// The format of the review
    #[arg(long, value_enum, default_value_t = To::Html)]
    pub(super) to: To,
    /// Write nothing; fail if the existing review no longer agrees with its inputs
    #[arg(long)]
    pub(super) check: bool,
}

/// A plan in a .toml file names the recordings and says what their columns are; all that it says can be said at the
/// terminal too, which comes before it.
#[derive(Debug, Args)]
#[command(
    after_help = "Such as: standstill measured cold.csv time='t in ms' speed='u in V scale 150 r/min per V' stop='cmd falls' standstill='10 r/min' error='2 r/min'\n\n\
Exit codes: 0 the protocol is passed; 1 it is not, or one of several plans is overdue; 2 a plan or a recording is wrong; 3 the sheet is wrong; 4 a file could not be read or written."
)]
pub(super) struct Measured {
    /// A plan (`stops.toml`), recordings (.csv, text with tabs, or a workbook), and words key='value'; or several plans
    #[arg(value_name = "PLAN|FILE|KEY=VALUE", required = true)]
    pub(super) words: Vec<String>,
    /// Write the protocol: a page (.html), a workbook (.xlsx) or JSON; may be repeated
    #[arg(short, long, value_name = "PROTOCOL")]
    pub(super) output: Vec<String>,
    /// An earlier protocol of the same machine, .xlsx or .json, for the trend; may be repeated
    #[arg(long, value_name = "PROTOCOL")]
    pub(super) before: Vec<String>,
    /// Show every stop
    #[arg(long)]
    pub(super) stops: bool,
    /// Overwrite an existing file
    #[arg(long, requires = "output")]
    pub(super) force: bool,
    /// Print JSON
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum To {
    /// One self-contained page
    Html,
    /// Markdown, for a repository's own review
    Md,
}

#[cfg(test)]
mod tests {
    use clap::error::{ContextKind, ContextValue, ErrorKind};

    use super::*;

    /// An option that stands on another is refused wherever that one is: where something else on the line forbids the
    /// other, the parser asks for it no more, and the option would be passed over.
    #[test]
    fn no_option_is_passed_over_for_want_of_the_one_it_stands_on() {
        let all = Arguments::command();
        let (mut found, mut tried) = (Vec::new(), 0);
        for command in all.get_subcommands() {
            let name = command.get_name();
            let places: Vec<_> = command.get_positionals().map(|_| "run-down".to_owned()).collect();
            let options: Vec<Vec<String>> = command
                .get_opts()
                .chain(command.get_arguments().filter(|it| !it.is_positional()))
                .filter_map(|it| {
                    let takes = it.get_num_args().is_some_and(|it| it.takes_values());
                    let words = it.get_possible_values();
                    let value = words.first().map_or("1", |it| it.get_name());
                    let long = format!("--{}", it.get_long()?);
                    Some(if takes { vec![long, value.to_owned()] } else { vec![long] })
                })
                .collect();
            let typed = |more: &[&Vec<String>]| {
                let words = ["standstill", name].map(str::to_owned).into_iter();
                let more = more.iter().copied().flatten().cloned();
                Arguments::try_parse_from(words.chain(places.iter().cloned()).chain(more))
            };
            let forbidden = |one: &_, other: &_| {
                typed(&[one, other]).is_err_and(|it| it.kind() == ErrorKind::ArgumentConflict)
            };
            for option in &options {
                let Err(problem) = typed(&[option]) else { continue };
                if problem.kind() != ErrorKind::MissingRequiredArgument {
                    continue;
                }
                let Some(ContextValue::Strings(needs)) = problem.get(ContextKind::InvalidArg)
                else {
                    continue;
                };
                let needed = |it: &&Vec<String>| {
                    let long = it.first().map_or("", String::as_str);
                    needs
                        .iter()
                        .any(|need| need.split([' ', '<', '>', '|']).any(|word| word == long))
                };
                for need in options.iter().filter(needed) {
                    for other in options
                        .iter()
                        .filter(|it| *it != option && *it != need && forbidden(need, it))
                    {
                        tried += 1;
                        if typed(&[option, other]).is_ok() {
                            found.push(format!("{name} {} {}", option.join(" "), other.join(" ")));
                        }
                    }
                }
            }
        }
        assert!(tried > 4, "{tried}");
        assert!(found.is_empty(), "{found:#?}");
    }
}
