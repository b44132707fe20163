//! Manual pages and completions, made from the definition of the arguments.

use crate::args::Args;
use crate::error::AppError;
use crate::files::put;
use clap::CommandFactory;
use clap_complete::Shell;
use clap_mangen::Man;
use ionfall_report::ReportError;
use std::fs;
use std::path::Path;

/// What a shell reads.
pub(crate) fn completions(shell: Shell) -> String {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), "ionfall", &mut text);
    String::from_utf8_lossy(&text).into_owned()
}

/// The page of the program.
pub(crate) fn page() -> Result<String, AppError> {
    rendered(Args::command())
}

fn rendered(command: clap::Command) -> Result<String, AppError> {
    let mut page = Vec::new();
    Man::new(command)
        .render(&mut page)
        .map_err(AppError::Output)?;
    Ok(String::from_utf8_lossy(&page).into_owned())
}

/// Writes the pages of the program and of every command; says which.
pub(crate) fn write_pages(folder: &Path) -> Result<String, AppError> {
    fs::create_dir_all(folder).map_err(|source| {
        AppError::Report(ReportError::Write {
            path: folder.into(),
            source,
        })
    })?;
    let mut root = Args::command();
    root.build();
    let mut commands = vec![("ionfall".to_owned(), root.clone())];
    for sub in root.get_subcommands().filter(|s| s.get_name() != "help") {
        commands.push((format!("ionfall-{}", sub.get_name()), sub.clone()));
    }
    let mut text = String::new();
    for (name, command) in commands {
        let path = folder.join(format!("{name}.1"));
        put(&path, rendered(command)?.as_bytes())?;
        text += &format!("{}\n", path.display());
    }
    Ok(text)
}
