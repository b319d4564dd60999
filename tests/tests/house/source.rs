//! The project's source files, read as tokens.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use ra_ap_rustc_lexer::{FrontmatterAllowed, TokenKind, strip_shebang, tokenize};

/// One source file.
pub struct Source {
    /// Its path from the project's top, with `/`.
    pub path: String,
    pub text: String,
    pub tokens: Vec<Token>,
}

/// A word, a sign or a literal; blanks and comments are left out.
#[derive(Clone, Debug)]
pub struct Token {
    pub text: String,
    pub is_word: bool,
}

impl Token {
    pub fn is(&self, text: &str) -> bool {
        self.text == text
    }
}

impl Source {
    pub fn new(path: String, text: String) -> Self {
        let start = strip_shebang(&text).unwrap_or(0);
        let mut at = start;
        let mut tokens = Vec::new();
        for token in tokenize(&text[start..], FrontmatterAllowed::No) {
            let piece = &text[at..at + token.len as usize];
            let is_left_out = matches!(
                token.kind,
                TokenKind::Whitespace
                    | TokenKind::LineComment { .. }
                    | TokenKind::BlockComment { .. }
            );
            if !is_left_out {
                let is_word = matches!(token.kind, TokenKind::Ident | TokenKind::RawIdent);
                tokens.push(Token {
                    text: piece.to_owned(),
                    is_word,
                });
            }
            at += piece.len();
        }
        Self { path, text, tokens }
    }

    /// The place of the bracket that closes the one at a place.
    pub fn closing(&self, open: usize) -> usize {
        let mut depth = 0_usize;
        for (at, token) in self.tokens.iter().enumerate().skip(open) {
            match token.text.as_str() {
                "{" | "(" | "[" => depth += 1,
                "}" | ")" | "]" => depth -= 1,
                _ => {}
            }
            if depth == 0 {
                return at;
            }
        }
        panic!("{}: a bracket stays open", self.path);
    }
}

/// The project's top folder.
pub fn top() -> PathBuf {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    tests.parent().unwrap().to_owned()
}

/// Every Rust file of the project. Read once.
pub fn sources() -> &'static [Source] {
    static ALL: OnceLock<Vec<Source>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut all = Vec::new();
        for folder in ["core", "app", "tests"] {
            gather(&top().join(folder), &mut all);
        }
        all.sort_by(|a, b| a.path.cmp(&b.path));
        assert!(all.len() > 200, "only {} files were found", all.len());
        all
    })
}

fn gather(folder: &Path, into: &mut Vec<Source>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            if name != "target" {
                gather(&path, into);
            }
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = std::fs::read_to_string(&path).unwrap();
            let path = path.strip_prefix(top()).unwrap().to_string_lossy();
            into.push(Source::new(path.replace('\\', "/"), text));
        }
    }
}

/// A file of the project that is no Rust source.
pub fn text_of(path: &str) -> String {
    let full = top().join(path);
    std::fs::read_to_string(&full).unwrap_or_else(|e| panic!("{}: {e}", full.display()))
}

/// What is kept in the project's history, by path. `None` where it has none, as in an
/// unpacked archive.
pub fn tracked() -> Option<Vec<String>> {
    let out = Command::new("git")
        .args(["-c", "safe.directory=*", "ls-files", "-z"])
        .current_dir(top())
        .output()
        .ok()
        .filter(|out| out.status.success())?;
    let text = String::from_utf8(out.stdout).unwrap();
    let all: Vec<String> = text.split_terminator('\0').map(str::to_owned).collect();
    (!all.is_empty()).then_some(all)
}
