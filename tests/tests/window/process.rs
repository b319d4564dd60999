//! What the system tells of the window's process: whether it works, and how much it did.

/// Processor time that a process has used, in the system's ticks (proc(5), stat).
pub fn used_time(process: u32) -> u64 {
    let fields = stat(&format!("/proc/{process}/stat"));
    let field = |at: usize| fields.get(at).and_then(|f| f.parse::<u64>().ok());
    field(11).unwrap_or(0) + field(12).unwrap_or(0)
}

/// What the system tells of a process or of one thread, behind its name (proc(5), stat).
fn stat(path: &str) -> Vec<String> {
    let stat = std::fs::read_to_string(path).unwrap_or_default();
    let after_name = stat.rsplit(')').next().unwrap_or_default();
    after_name.split_whitespace().map(str::to_owned).collect()
}

/// Whether any thread of a process runs, waits for its turn or for the disk.
pub fn waits(process: u32) -> bool {
    let threads = std::fs::read_dir(format!("/proc/{process}/task"));
    let mut paths = threads.into_iter().flatten().flatten().map(|t| t.path());
    paths.any(|thread| {
        let fields = stat(&thread.join("stat").display().to_string());
        fields
            .first()
            .is_some_and(|state| state == "R" || state == "D")
    })
}
