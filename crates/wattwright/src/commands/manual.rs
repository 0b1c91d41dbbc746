//! Completions and man pages, from the same definition as the parser.

use clap::CommandFactory;

use crate::cli::{Cli, Completions, Man};
use crate::{Status, files, output};

pub(crate) fn completions(args: &Completions) -> Status {
    let mut bytes = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "wattwright", &mut bytes);
    output::say(&String::from_utf8_lossy(&bytes));
    Status::Fine
}

pub(crate) fn pages(args: &Man) -> Status {
    let mut command = Cli::command();
    command.build();
    let mut all = vec![("wattwright".to_owned(), command.clone())];
    all.extend(
        command
            .get_subcommands()
            .filter(|c| c.get_name() != "help")
            .map(|c| (format!("wattwright-{}", c.get_name()), c.clone())),
    );
    for (name, command) in all {
        let mut bytes = Vec::new();
        if clap_mangen::Man::new(command).title(name.to_uppercase()).render(&mut bytes).is_err() {
            output::complain(&format!("error: {name}.1 could not be made"));
            return Status::BadInput;
        }
        let path = args.folder.join(format!("{name}.1"));
        if let Err(why) = files::write_new(&path, &String::from_utf8_lossy(&bytes)) {
            output::complain(&format!("error: {why}"));
            return Status::BadInput;
        }
    }
    output::say(&format!("man pages are in {}", args.folder.display()));
    Status::Fine
}
