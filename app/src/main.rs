//! The program: opens the window, or answers on the command line.

use std::process::ExitCode;

fn main() -> ExitCode {
    trayzero::cli::main()
}
