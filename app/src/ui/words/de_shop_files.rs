//! What is wrong with a file where tablets meet, in German.

use crate::data::store::InGerman;
use crate::shop::{FileWhy, SharedFault};

impl InGerman for SharedFault {
    fn in_german(&self) -> String {
        format!("{}: {}", self.path.display(), self.why.in_german())
    }
}

const ANEW: &str = "jeder Schlüssel eines Tablets gilt neu, so wie er zuerst kommt";
const TWICE: &str = "diese Kennung ist zweimal in Gebrauch";

impl InGerman for FileWhy {
    fn in_german(&self) -> String {
        match self {
            Self::System(says) => return says.clone(),
            Self::Told(error) => return error.in_german(),
            Self::PinnedAnew(error) => return format!("{}; {ANEW}", error.in_german()),
            Self::OthersPins => return format!("ein anderes Tablet hat sie versiegelt; {ANEW}"),
            Self::TooManyLayouts(kept) => {
                return format!("{kept} Motorpläne liegen hier, mehr kommen nicht dazu");
            }
            Self::Surplus(bytes) => {
                return format!(
                    "sie hatte {bytes} Byte mehr, als dieses Tablet schrieb; sie ist berichtigt"
                );
            }
            Self::BroughtGone(bytes) => {
                return format!(
                    "{bytes} Byte, die dieses Tablet gebracht hatte, waren fort; sie ist berichtigt"
                );
            }
            Self::Fetched(bytes) => {
                return format!(
                    "{bytes} Byte eigener Zeilen dieses Tablets lagen nur dort, wie nach dem \
                     Zurücklegen eines alten Datenordners; sie sind geholt"
                );
            }
            Self::TooLong(bytes) => {
                return format!("sie hat {bytes} Byte, mehr als gelesen werden");
            }
            Self::TooManyPieces { bytes, pieces } => {
                return format!(
                    "sie hat {bytes} Byte in {pieces} Stücken, mehr als gelesen werden"
                );
            }
            Self::UnknownFormat { format, known } => {
                return format!("Format {format}; dieses Programm kennt {known}");
            }
            Self::TwoCourses => {
                return format!(
                    "dieses Tablet hat zwei Verläufe desselben Auftrags versiegelt: {TWICE}"
                );
            }
            Self::InUseTwice => {
                return format!(
                    "mit ein und demselben Schlüssel an zwei Orten versiegelt: {TWICE}, denn ein \
                     Datenordner wurde kopiert oder ein alter zurückgelegt; eins von beiden muss \
                     ein neues Tablet werden"
                );
            }
            Self::OtherTablet => "sie trägt den Namen eines anderen Tablets, als sie sagt",
            Self::BadTabletName => "so kann kein Tablet heißen",
            Self::NoLayoutName => "so heißt kein Motorplan",
            Self::NoPlainFile => "sie ist keine gewöhnliche Datei",
            Self::OwnIsNoFile => {
                "sie ist keine gewöhnliche Datei; hierher gehört das Journal dieses Tablets"
            }
            Self::WrittenAnew => "sie war eine andere; sie ist neu geschrieben",
            Self::NoMembers => "kein Tablet der Werkstatt hat sie versiegelt",
            Self::Gone => "sie ist fort",
            Self::ChangedMeanwhile => "sie wurde inzwischen geändert",
            Self::PutRight => "sie war nicht, was dieses Tablet schrieb; sie ist berichtigt",
            Self::NoHash => "der Hash eines Stücks ist keiner",
            Self::LongSeal => "ihr Siegel ist länger als eines",
            Self::NoPiece => "ein Stück von ihr liegt nicht im Bucket oder ist ein anderes",
            Self::LinesGone => {
                "die Zeilen, die schon gelesen waren, hat sie nicht mehr; hier sind sie aufgehoben"
            }
            Self::OtherPicture => "sie ist nicht das Bild, das ihr Ereignis nennt",
        }
        .to_owned()
    }
}
