//! The yardstick of a well-kept embedded database: one row a tap, durable.

use std::path::Path;

use rusqlite::Connection;

/// A table of lines, each committed by itself.
pub struct Rows(Connection);

impl Rows {
    pub fn open(path: &Path) -> Self {
        let sqlite = Connection::open(path).unwrap();
        let mode: String = sqlite
            .query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))
            .unwrap();
        assert_eq!(mode, "wal");
        sqlite
            .execute_batch(
                "PRAGMA synchronous = FULL;
                 CREATE TABLE line (n INTEGER PRIMARY KEY, text TEXT NOT NULL)",
            )
            .unwrap();
        Self(sqlite)
    }

    pub fn insert(&self, text: &str) {
        let mut insert = self
            .0
            .prepare_cached("INSERT INTO line (text) VALUES (?1)")
            .unwrap();
        assert_eq!(insert.execute([text]).unwrap(), 1);
    }
}
