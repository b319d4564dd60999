//! The paper that a PDF is laid out for.

use trayzero_core::bench::UnitSystem;

/// The paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Paper {
    /// ISO A4, 210 by 297 mm.
    #[default]
    A4,
    /// Letter, 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// Width and height in points.
    pub fn size_pt(self) -> (f32, f32) {
        match self {
            Paper::A4 => (595.28, 841.89),
            Paper::Letter => (612.0, 792.0),
        }
    }

    /// The paper that is usual where a system of units is.
    pub fn usual(system: UnitSystem) -> Self {
        match system {
            UnitSystem::Metric => Self::A4,
            UnitSystem::Us => Self::Letter,
        }
    }
}
