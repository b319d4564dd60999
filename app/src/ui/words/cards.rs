//! First-use cards, each named by where it is shown; their texts stand in the list.

/// One card, named by where it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FirstUse {
    /// The bays of this tablet.
    Bays,
    /// A new job.
    NewJob,
    /// The bay.
    Bay,
    /// The board.
    Board,
    /// The engine layouts.
    Layouts,
    /// The layout editor.
    Editor,
    /// The settings.
    Settings,
    /// Where every part is.
    Parts,
    /// The gate of a bank, and the counts for it.
    Gate,
    /// Take-in and evidence.
    TakeIn,
    /// The crank.
    Crank,
    /// Something fell.
    Drop,
}

impl FirstUse {
    /// Every card.
    pub const ALL: [Self; 12] = [
        Self::Bays,
        Self::NewJob,
        Self::Bay,
        Self::Board,
        Self::Layouts,
        Self::Editor,
        Self::Settings,
        Self::Parts,
        Self::Gate,
        Self::TakeIn,
        Self::Crank,
        Self::Drop,
    ];

    /// Its permanent name in `settings.json`.
    pub fn key(self) -> &'static str {
        match self {
            Self::Bays => "bays",
            Self::NewJob => "new job",
            Self::Bay => "bay",
            Self::Board => "board",
            Self::Layouts => "layouts",
            Self::Editor => "layout editor",
            Self::Settings => "settings",
            Self::Parts => "parts",
            Self::Gate => "gate",
            Self::TakeIn => "take-in",
            Self::Crank => "crank",
            Self::Drop => "dropped",
        }
    }
}
