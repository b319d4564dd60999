//! What the system says of a program's memory.

/// A line of a process's status (proc(5)), in megabytes of a million bytes: `VmRSS:` is what
/// it holds now, `VmHWM:` the most that it has held.
pub fn memory_mb(process: &str, line: &str) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let found = status.lines().find(|l| l.starts_with(line)).unwrap();
    let kib: f64 = found.split_whitespace().nth(1).unwrap().parse().unwrap();
    kib * 1024.0 / 1e6
}
