//! Arguments and their help.

use crate::compare::CompareOptions;
use crate::improve::{Goal, ImproveOptions};
use crate::run::{Cells, PlusMinus, RunOptions};
use crate::trials::TrialsOptions;
use clap::{Parser, Subcommand, builder::RangedI64ValueParser};
use ionfall_job::unit::Dimension;
use std::path::PathBuf;

/// What is printed when nothing is asked.
pub(crate) const HELLO: &str = "\
ionfall computes where the metal lands in a plating or electroforming tank: how thick,
where, how soon, and at how many volts.

A job is a text file that names the tank, the bath, the anodes and the work. Three
things to try:

  ionfall check examples/plaque/plaque.toml    how a job is understood, before any work
  ionfall run examples/plaque/plaque.toml      thickness everywhere, and a report to look at
  ionfall --help                               the other commands: compare, trials, bath ...
";

const EXIT_CODES: &str = "\
Exit codes:
  0  done; the wanted thickness is met, or none was asked for
  1  done, but the wanted thickness is not met (only with run --strict)
  2  the job or the command line is wrong
  3  not solved: the current asked for cannot flow, or no solution was found
  4  the machine: disk, memory or threads";

const BATH_EXAMPLES: &str = "\
Examples:
  ionfall bath
  ionfall bath \"high throw\" --temperature \"30 degC\" --agitation air
  ionfall bath general --agitation '{ rod = \"3 m/min\", length = \"100 mm\" }'
  ionfall bath --composition '{ copper = \"50 g/L\", sulfuric_acid = \"40 mL/L\" }'
  ionfall bath plaque.toml";

const COMPARE_HELP: &str = "\
Examples:
  ionfall compare still-result air-result
  ionfall compare still.toml rod.toml air.toml --out stirring.html

What fails is named and the others are compared; the exit code is then that of the first that failed.";

const COMPLETIONS_HELP: &str = "\
Examples (bash, zsh, fish):
  ionfall completions bash > ~/.local/share/bash-completion/completions/ionfall
  ionfall completions zsh > ~/.zfunc/_ionfall
  ionfall completions fish > ~/.config/fish/completions/ionfall.fish";

const TRIALS_HELP: &str = "\
Keys are written as in the job file, with points between: plan.time, supply.voltage, bath.agitation. \
Of several anodes one is called by its name or number, all of them by *: \"anode.left anode.lead\", \
anode.2.lead, anode.*.lead; a coordinate by its letter: anode.1.shape.box.from.x. One number that \
moves several things is best given a name in the job, under [figures], and varied by it.

Examples:
  ionfall trials plaque.toml --vary \"distance=100..200/5 mm\"
  ionfall trials plaque.toml --vary \"plan.time=8 h,12 h,20 h\"
  ionfall trials plaque.toml --vary bath.agitation=still,air --vary \"rim=0,9 mm\"
  ionfall trials plaque.toml --vary 'bath.agitation={ film = \"50 um\" },air'

Cases that differ by less than what is left open of them count as equal; the last sentence says \
which one to take. The exit code is 3 if all cases fail.

Over several machines that share a folder, with any batch system: first the case that the others \
begin from, then all cases as a job array, then gather. For example, with the number of the array \
in N:
  ionfall trials plaque.toml --vary \"distance=100..200/5 mm\" --case 1
  ionfall trials plaque.toml --vary \"distance=100..200/5 mm\" --case $N
  ionfall trials plaque.toml --vary \"distance=100..200/5 mm\" --merge
The files are the same, byte for byte, as those of trials on one machine of the same kind.";

const IMPROVE_HELP: &str = "\
Keys are those of `ionfall trials`; the job must lie within each range, for the search begins there. \
It finds the nearest best, keeps to the limits, and may be stopped and started again: it then goes on. \
What it finds is run in full beside the job as it stands; a gain below their plus-minus is called \
none. The improved job is written beside the job, with its comments.

Examples:
  ionfall improve plaque.toml --free \"distance=80..250 mm\" --free \"rim=0..20 mm\"
  ionfall improve plaque.toml --free \"rim=0..20 mm\" --for hours --most-share 50
  ionfall improve rack.toml --free \"supply.2.current=0.1..2 A\" --most-volts 6

Exit codes: 3 if the job as it stands cannot be computed.";

const TEXTBOOK_EXAMPLES: &str = "\
Examples:
  ionfall textbook
  ionfall textbook eccentric-cylinders disk --out pictures
  ionfall textbook --all
  ionfall textbook trapezoid --job > my-cell.toml

Exit codes: 1 if a quantity is out of what is allowed, 2 for a name that is not known.";

const PAGE_EXAMPLES: &str = "\
Examples:
  ionfall page --out tank.html
  ionfall page plaque.toml --out plaque.html";

/// Where the metal lands, how thick and how soon, in a plating or electroforming tank.
#[derive(Debug, Parser)]
#[command(name = "ionfall", version, max_term_width = 100, after_help = EXIT_CODES)]
pub(crate) struct Args {
    /// What to do; without it, three things to try are shown.
    #[command(subcommand)]
    pub command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Compute a job and write its results
    ///
    /// Reads the job, lays a grid around the bodies, solves for the currents, and turns them into
    /// metal. Prints the answers and writes a folder of results: report.html to be opened in any
    /// browser, summary.json, tables, and files that any VTK viewer opens.
    ///
    /// An older result in the folder is replaced only when the new one is complete. Other files in
    /// it are left alone.
    #[command(after_help = EXIT_CODES)]
    Run(RunArgs),
    /// Compute a job with other values: a range of distances, a list of baths
    ///
    /// Every --vary names a key of the job and its values; all of them are combined. Tables and
    /// charts of the key figures of every case are written (trials.csv, trials.json, trials.html).
    /// Trials that were stopped go on where they were when started again; a case that cannot
    /// be computed is noted and the others go on.
    #[command(after_long_help = TRIALS_HELP)]
    Trials(TrialsArgs),
    /// Find what to change: lengths and currents between which the program may choose
    ///
    /// Every --free names a key of the job and a range. The program looks for the values that serve a
    /// goal best, says what each of them is worth and what it costs, and writes the job with them.
    #[command(after_long_help = IMPROVE_HELP)]
    Improve(ImproveArgs),
    /// Put finished runs side by side: what a change bought and what it cost
    ///
    /// Every key figure with its differences from the first run, the thicknesses over each other,
    /// and where the metal moved if the work and the grid are the same. A job file is run first, as
    /// `ionfall run` does it.
    #[command(after_long_help = COMPARE_HELP)]
    Compare(CompareArgs),
    /// Say how a job is understood, without computing it
    ///
    /// Shows tank, bath (every figure with where it comes from), bodies with their areas, supply
    /// and plan, and how large the grid will be. Every mistake in the job is shown at once, with
    /// its line and a way out.
    #[command(after_help = EXIT_CODES)]
    Check {
        /// The job file, for example plaque.toml
        job: PathBuf,
        /// Print one JSON document instead of words
        #[arg(long)]
        json: bool,
    },
    /// List all keys of the job file, with a line each
    ///
    /// `[[...]]` stands around tables of which there may be several; a star marks what a table must have.
    Keys {
        /// Only the keys in which this word stands, for example coat
        word: Option<String>,
        /// Print one JSON document instead of words
        #[arg(long)]
        json: bool,
    },
    /// Print the JSON schema of the job file, for editors that complete and check it
    Schema,
    /// Show the figures of a bath: value, band, how sure, and source
    ///
    /// Without a name the known baths and recipes are listed. With one, every figure is printed
    /// that a computation would use, and at the end what to beware of.
    #[command(after_help = BATH_EXAMPLES)]
    Bath(BathArgs),
    /// Run classic cases and compare them with reference values
    ///
    /// Without a name the cases are listed. A case is run on three grids; for each quantity the
    /// reference and the computed value, the difference, what is allowed, the observed order of
    /// convergence and the plus-minus of three grids are printed.
    #[command(after_help = TEXTBOOK_EXAMPLES)]
    Textbook(TextbookArgs),
    /// Write the live page: lay out a tank and see the metal, in any browser, without a network
    ///
    /// One file with the program itself inside. With a job the page begins with it and carries the meshes
    /// and pictures that it names; without one it asks what hangs in the tank. Bodies are dragged, turned
    /// and sized, the text of the job stands beside them, and what is made there is saved as a job that
    /// the other commands take.
    #[command(after_help = PAGE_EXAMPLES)]
    Page(PageArgs),
    /// Print what makes a shell complete the words of this program
    #[command(after_help = COMPLETIONS_HELP)]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page, or write the pages of all commands into a folder
    Man {
        /// Folder for ionfall.1, ionfall-run.1 and the others
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
    },
}

/// What `ionfall run` is asked.
#[derive(Debug, clap::Args)]
pub(crate) struct RunArgs {
    /// The job file, for example plaque.toml
    pub job: PathBuf,
    /// Folder for the results [default: where [save] in the job says, or else the name of the
    /// job with "-result", beside the job]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Also draw pictures (PNG, SVG) and a job sheet for the tank side (HTML, one page)
    #[arg(long)]
    pub pictures: bool,
    /// Print the summary as one JSON document instead of words
    #[arg(long)]
    pub json: bool,
    /// Print in full what to beware of at this bath, instead of a line
    #[arg(long)]
    pub safety: bool,
    /// Exit with code 1 if the thickness wanted in the job is not met
    #[arg(long)]
    pub strict: bool,
    /// Number of processors to use [default: all]; the results do not depend on it
    #[arg(long, value_name = "N", value_parser = RangedI64ValueParser::<usize>::new().range(1..=1024))]
    pub threads: Option<usize>,
    /// Go on where an earlier run of this job into the same folder was stopped
    ///
    /// A run with a plan keeps its progress after every time step, so it may be stopped at any
    /// moment (Ctrl-C, or the power). Resumed with as many --threads it gives the very same
    /// results. Without anything to resume it begins at the beginning.
    #[arg(long)]
    pub resume: bool,
    /// Write files that are left out of large results too
    ///
    /// Without it bath.vtu, the potential in every cell, is written up to 500,000 cells only, unless `what`
    /// in [save] of the job names it; a note tells where it was left out.
    #[arg(long)]
    pub all_files: bool,
    /// Let the job write outside of its own folder
    ///
    /// A job says with [save] where its results go. Absolute folders, and those above its own,
    /// are refused unless this is said: a job may come from anybody.
    #[arg(long)]
    pub outside: bool,
    /// Run also with the bath's uncertain figures at the ends of their bands
    ///
    /// Conductivity, exchange current density and limiting current are put to their lowest and
    /// highest values one at a time (at most eight more runs on the same grid), and each answer
    /// gets a band.
    #[arg(long)]
    pub spread: bool,
    /// Run also with what a shop could change, one change at a time
    ///
    /// Half and one and a half times the current (with the time the other way round), more
    /// conductivity, stronger agitation, more time, a better coat, better contacts, more from
    /// a second supply: what each makes of the thinnest place, the volts, the worst share of
    /// the limiting current and the hours. Lengths of the job are varied by `ionfall trials`.
    #[arg(long)]
    pub levers: bool,
    /// When to work out the plus-minus that the size of the cells leaves in the answers
    ///
    /// The job is run again on cells twice and four times as large (half as large again, where
    /// twice as large ones no longer reach into a hollow), after its results have been
    /// written; then summary and report are written again. Without this option that is done
    /// where the larger cells are, together, fewer than half of the job's, or the job has
    /// fewer than 60,000.
    #[arg(
        long,
        value_name = "WHEN",
        value_enum,
        default_value_t,
        hide_default_value = true
    )]
    pub plus_minus: PlusMinus,
    /// How sharp the answers shall be, as in "2 %", instead of how small the cells
    ///
    /// Grid after grid is laid, each with smaller cells where the answers get their error from, until the
    /// plus-minus of thinnest, mean and thickest of each work and of the volts is below this share of
    /// them, or the memory is spent; which of both is told. Wins over `accuracy` in [grid] of the
    /// job. `finest` there is then the smallest cell allowed. No progress is kept.
    #[arg(long, value_name = "SHARE", value_parser = accuracy)]
    pub accuracy: Option<f64>,
}

/// A share above nothing.
fn accuracy(text: &str) -> Result<f64, String> {
    let share = Dimension::Share.parse(text).map_err(|e| e.to_string())?;
    if share > 0.0 && share <= 1.0 {
        Ok(share)
    } else {
        Err("write a share above 0 and up to 100 %, as in \"2 %\"".into())
    }
}

impl RunArgs {
    pub fn options(&self) -> RunOptions {
        RunOptions {
            out: self.out.clone(),
            threads: self.threads.unwrap_or(0),
            outside: self.outside,
            memory_bytes: None,
            resume: self.resume,
            spread: self.spread,
            levers: self.levers,
            all_files: self.all_files,
            pictures: self.pictures,
            plus_minus: self.plus_minus,
            cells: self.accuracy.map_or(Cells::OfJob, Cells::Within),
        }
    }
}

/// What `ionfall page` is asked.
#[derive(Debug, clap::Args)]
pub(crate) struct PageArgs {
    /// The job file to begin with, for example plaque.toml
    pub job: Option<PathBuf>,
    /// The page to write
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
}

/// What `ionfall compare` is asked.
#[derive(Debug, clap::Args)]
pub(crate) struct CompareArgs {
    /// Folders of results or job files, at least two; all are compared with the first
    #[arg(required = true, num_args = 2.., value_name = "RESULT OR JOB")]
    pub what: Vec<PathBuf>,
    /// The page to write [default: compare.html]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Number of processors to use for jobs that are run [default: all]
    #[arg(long, value_name = "N", value_parser = RangedI64ValueParser::<usize>::new().range(1..=1024))]
    pub threads: Option<usize>,
    /// Print one JSON document instead of words
    #[arg(long)]
    pub json: bool,
}

impl CompareArgs {
    pub fn options(&self) -> CompareOptions {
        CompareOptions {
            what: self.what.clone(),
            out: self.out.clone().unwrap_or_else(|| "compare.html".into()),
            threads: self.threads.unwrap_or(0),
            prelude: None,
        }
    }
}

/// What `ionfall textbook` is asked.
#[derive(Debug, clap::Args)]
pub(crate) struct TextbookArgs {
    /// Names of cases, for example eccentric-cylinders; or course, for the three distributions
    #[arg(value_name = "NAME")]
    pub names: Vec<String>,
    /// Run all cases
    #[arg(long, conflicts_with = "names")]
    pub all: bool,
    /// Print the job of the case instead of running it, as something to start from
    #[arg(long, requires = "names", conflicts_with_all = ["all", "out", "json"])]
    pub job: bool,
    /// Folder for pictures of the profiles (SVG) and the rows (summary.json)
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print one JSON document instead of tables
    #[arg(long)]
    pub json: bool,
    /// Number of processors to use [default: all]; the results do not depend on it
    #[arg(long, value_name = "N", value_parser = RangedI64ValueParser::<usize>::new().range(1..=1024))]
    pub threads: Option<usize>,
}

/// What `ionfall bath` is asked.
#[derive(Debug, clap::Args)]
pub(crate) struct BathArgs {
    /// A recipe ("high throw"), a kind of bath ("nickel sulfamate") or a job file (plaque.toml)
    pub name: Option<String>,
    /// Temperature, for example "30 degC"
    #[arg(long, value_name = "TEMPERATURE")]
    pub temperature: Option<String>,
    /// Agitation: still, rod, air, pumped, jet, ultrasonic, or figures in braces as in a job file
    #[arg(long, value_name = "AGITATION")]
    pub agitation: Option<String>,
    /// Amounts in braces as in a job file, instead of a recipe
    #[arg(long, value_name = "AMOUNTS")]
    pub composition: Option<String>,
    /// Measured conductivity, for example "15 S/m"
    #[arg(long, value_name = "CONDUCTIVITY")]
    pub conductivity: Option<String>,
    /// Current density for the figures of evenness, for example "2 A/dm2" [default: the middle of
    /// the usual range, or else 1 A/dm2]
    #[arg(long, value_name = "CURRENT DENSITY")]
    pub current_density: Option<String>,
    /// Print one JSON document instead of a table
    #[arg(long)]
    pub json: bool,
}

/// What `ionfall trials` is asked.
#[derive(Debug, clap::Args)]
pub(crate) struct TrialsArgs {
    /// The job file, for example plaque.toml
    pub job: PathBuf,
    /// A key of the job and its values: a list, or a range with the number of its values
    #[arg(long, value_name = "KEY=VALUES", required = true)]
    vary: Vec<String>,
    /// Folder of the trials [default: the name of the job with "-trials", beside the job]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Compute this case only, counted from 1, and gather nothing
    #[arg(long, value_name = "N", conflicts_with = "merge")]
    case: Option<usize>,
    /// Compute nothing: gather the cases that are there
    #[arg(long)]
    merge: bool,
    /// Also keep the whole results of each case, with its report, in case-0001, case-0002 ...
    #[arg(long)]
    keep: bool,
    /// Processors for each case [default: 1]; the results do not depend on it
    #[arg(long, value_name = "N", value_parser = RangedI64ValueParser::<usize>::new().range(1..=1024))]
    threads: Option<usize>,
    /// Cases at once [default: as many as processors and memory allow]
    #[arg(long, value_name = "N", value_parser = RangedI64ValueParser::<usize>::new().range(1..=1024))]
    workers: Option<usize>,
    /// Print trials.json instead of words
    #[arg(long)]
    pub json: bool,
}

impl TrialsArgs {
    pub fn options(&self) -> TrialsOptions {
        TrialsOptions {
            vary: self.vary.clone(),
            out: self.out.clone(),
            case: self.case,
            merge: self.merge,
            keep: self.keep,
            threads: self.threads.unwrap_or(1),
            workers: self.workers,
        }
    }
}

/// What `ionfall improve` is asked.
#[derive(Debug, clap::Args)]
pub(crate) struct ImproveArgs {
    /// The job file, for example plaque.toml
    pub job: PathBuf,
    /// A key of the job and its range, KEY=FROM..TO UNIT, or choices, KEY=A|B
    #[arg(long, value_name = "KEY=RANGE", required = true)]
    free: Vec<String>,
    /// What to look for
    #[arg(long = "for", value_name = "GOAL", value_enum, default_value_t)]
    goal: Goal,
    /// A second goal that is weighed against the first: what one costs of the other
    #[arg(long, value_name = "GOAL", value_enum)]
    against: Option<Goal>,
    /// Largest share of the limiting current, per cent [default: from where trees grow]
    #[arg(long, value_name = "PERCENT")]
    most_share: Option<f64>,
    /// Largest voltage of the main supply, V
    #[arg(long, value_name = "V")]
    most_volts: Option<f64>,
    /// Largest current density at any place of an anode, A/dm2
    #[arg(long, value_name = "A/DM2")]
    most_anode: Option<f64>,
    /// Longest plating time, h
    #[arg(long, value_name = "H")]
    most_hours: Option<f64>,
    /// Cases that the search may compute
    #[arg(long, value_name = "N", default_value_t = 25, value_parser = RangedI64ValueParser::<usize>::new().range(2..=1000))]
    solves: usize,
    /// Folder of the search [default: the name of the job with "-improve", beside the job]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Number of processors to use [default: all]; the results do not depend on it
    #[arg(long, value_name = "N", value_parser = RangedI64ValueParser::<usize>::new().range(1..=1024))]
    threads: Option<usize>,
    /// Print improve.json instead of words
    #[arg(long)]
    pub json: bool,
}

impl ImproveArgs {
    pub fn options(&self) -> ImproveOptions {
        let trees = ionfall_bath::Quality::Trees.from_share();
        ImproveOptions {
            free: self.free.clone(),
            goal: self.goal,
            against: self.against,
            most_share: self.most_share.map_or(trees, |percent| 0.01 * percent),
            most_v: self.most_volts,
            most_anode: self.most_anode,
            most_h: self.most_hours,
            solves: self.solves,
            out: self.out.clone(),
            threads: self.threads.unwrap_or(0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_sound_and_tells_exit_codes() {
        let mut command = Args::command();
        command.clone().debug_assert();
        assert!(
            command
                .render_long_help()
                .to_string()
                .contains("Exit codes:")
        );
        for sub in ["run", "check"] {
            let help = command
                .find_subcommand_mut(sub)
                .unwrap()
                .render_long_help()
                .to_string();
            assert!(help.contains("not solved"), "{help}");
        }
    }

    /// At 80 columns no example is broken, and no line that was written by hand is too long.
    #[test]
    fn help_is_whole_at_80_columns() {
        let mut command = Args::command().term_width(80);
        command.build();
        let mut examples = 0;
        for sub in command.get_subcommands_mut() {
            let help = sub.render_long_help().to_string();
            for line in help.lines() {
                assert!(line.chars().count() <= 80, "{}: {line}", sub.get_name());
            }
            let after = [sub.get_after_help(), sub.get_after_long_help()];
            let own = after.into_iter().flatten().map(ToString::to_string);
            for line in own.collect::<Vec<_>>().iter().flat_map(|text| text.lines()) {
                // What is set off is to be typed, or a table.
                if line.starts_with("  ") {
                    let whole = help.lines().any(|shown| shown == line);
                    assert!(whole, "{}: {line}", sub.get_name());
                    examples += 1;
                }
            }
        }
        assert!(examples > 20, "{examples}");
    }

    #[test]
    fn arguments_as_people_type_them() {
        let args = Args::try_parse_from(["ionfall", "run", "a.toml", "--threads", "2", "--strict"]);
        let Some(Command::Run(run)) = args.unwrap().command else {
            panic!("run");
        };
        let found = (run.threads, run.strict, run.json, run.out);
        assert_eq!(found, (Some(2), true, false, None));
        assert!(Args::try_parse_from(["ionfall"]).unwrap().command.is_none());
        for wrong in [
            &["run"][..],
            &["run", "a.toml", "--threads", "0"],
            &["chek", "a.toml"],
        ] {
            let error = Args::try_parse_from([&["ionfall"], wrong].concat()).unwrap_err();
            assert_eq!(error.exit_code(), 2);
        }
    }
}
