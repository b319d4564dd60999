//! The colours, by what they mean. No other file names a raw colour.

use egui::Color32;
use trayzero_core::job::{STAGES, Stage};

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

/// A meaning that has a ground of its own: the ground, and the text and marks on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tint {
    /// The area.
    pub ground: Color32,
    /// Text and marks on the area; on paper and card it serves as a mark too.
    pub mark: Color32,
}

/// Every colour of one theme. Each meaning has one tint; all else is paper and ink.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colours {
    /// The ground of the screen.
    pub paper: Color32,
    /// What lies on it and is worked with.
    pub card: Color32,
    /// Text and marks.
    pub ink: Color32,
    /// Text that may wait.
    pub ink_soft: Color32,
    /// Quiet separation; never the only sign of a control.
    pub line: Color32,
    /// Outline of a control, and marks that tell something.
    pub edge: Color32,
    /// The engine's body.
    pub metal: Color32,
    /// The thing to do now: a filled bar, and text on it.
    pub now: Tint,
    /// The same while a finger is on it.
    pub now_pressed: Tint,
    /// The thing to do now, as a mark or text on paper and card.
    pub now_mark: Color32,
    /// A control while a finger is on it.
    pub pressed: Color32,
    /// Unlocked: held by air (or a mechanical hold) only; parts loose.
    pub open: Tint,
    /// Gone astray, and what must not be.
    pub astray: Tint,
    /// Air.
    pub air: Tint,
    /// Seen and safe.
    pub done: Tint,
    /// One mark a stage, in order; told by shape first.
    pub stages: [Color32; STAGES],
    /// The ground behind a sheet that lies over the screen.
    pub veil: Color32,
}

impl Colours {
    /// The mark of a stage.
    pub fn stage(&self, stage: Stage) -> Color32 {
        self.stages[stage.index()]
    }

    /// The area in a valve's rim by its stage: untouched and safe ones stay card.
    pub fn stage_ground(&self, stage: Option<Stage>) -> Color32 {
        match stage {
            Some(Stage::LocksOut | Stage::SealFitted) => self.open.ground,
            Some(Stage::Verified) => self.done.ground,
            _ => self.card,
        }
    }
}

/// Ink on warm paper, for a lit shop.
pub const SHOP_LIGHT: Colours = Colours {
    paper: rgb(0x00F2_EFE7),
    card: rgb(0x00FC_FBF8),
    ink: rgb(0x0017_1D21),
    ink_soft: rgb(0x0053_5B5C),
    line: rgb(0x00CF_C9BB),
    edge: rgb(0x006E_6A5E),
    metal: rgb(0x00DC_D7CB),
    now: Tint {
        ground: rgb(0x000A_5C63),
        mark: rgb(0x00FF_FFFF),
    },
    now_pressed: Tint {
        ground: rgb(0x0006_3E44),
        mark: rgb(0x00FF_FFFF),
    },
    now_mark: rgb(0x000A_5C63),
    pressed: rgb(0x00D6_DFDC),
    open: Tint {
        ground: rgb(0x00FB_E3CC),
        mark: rgb(0x0094_3C00),
    },
    astray: Tint {
        ground: rgb(0x00FA_DDE3),
        mark: rgb(0x00A4_002F),
    },
    air: Tint {
        ground: rgb(0x00DC_E7F7),
        mark: rgb(0x001B_4F9C),
    },
    done: Tint {
        ground: rgb(0x00DC_EBDD),
        mark: rgb(0x0010_4934),
    },
    stages: [
        rgb(0x006C_757A),
        rgb(0x0065_297F),
        rgb(0x0094_3C00),
        rgb(0x0096_790E),
        rgb(0x0017_1D21),
        rgb(0x002A_7147),
    ],
    veil: Color32::from_rgba_premultiplied(12, 15, 17, 140),
};

/// Dim grounds for a dark shop, with marks that do not glare.
pub const NIGHT: Colours = Colours {
    paper: rgb(0x0010_1618),
    card: rgb(0x001A_2225),
    ink: rgb(0x00F0_EEE8),
    ink_soft: rgb(0x00A9_B0AE),
    line: rgb(0x0037_4246),
    edge: rgb(0x0084_929A),
    metal: rgb(0x0027_3034),
    now: Tint {
        ground: rgb(0x004F_B8BF),
        mark: rgb(0x0006_282B),
    },
    now_pressed: Tint {
        ground: rgb(0x0086_D6DB),
        mark: rgb(0x0006_282B),
    },
    now_mark: rgb(0x004F_B8BF),
    pressed: rgb(0x002F_3D41),
    open: Tint {
        ground: rgb(0x003D_2A14),
        mark: rgb(0x00F0_8A2C),
    },
    astray: Tint {
        ground: rgb(0x0045_192A),
        mark: rgb(0x00FF_8FA3),
    },
    air: Tint {
        ground: rgb(0x001B_2C4D),
        mark: rgb(0x008D_B8F5),
    },
    done: Tint {
        ground: rgb(0x0017_301F),
        mark: rgb(0x006C_C592),
    },
    stages: [
        rgb(0x0086_8E93),
        rgb(0x00CC_83E6),
        rgb(0x00F0_8A2C),
        rgb(0x00FF_DD57),
        rgb(0x00F0_EEE8),
        rgb(0x006C_C592),
    ],
    veil: Color32::from_rgba_premultiplied(0, 0, 0, 170),
};
