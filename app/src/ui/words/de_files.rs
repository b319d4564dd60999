//! What went wrong with files, journals, layouts and figures, in German. What
//! the system itself says stays as it says it.

use trayzero_core::bench::BenchError;
use trayzero_core::engine::{LAYOUT_BYTES_MAX, LayoutFault};
use trayzero_core::plan::{OrderFault, PLANNED_CYLINDERS_MAX};

use super::de::DE;
use super::de_faults::while_doing;
use crate::data::layouts::{FolderFault, LayoutFileError, OWN_FILES_MAX};
use crate::data::own_layouts::OwnLayoutError;
use crate::data::shared_layouts::{self, FROM_MAX, NAME_CHARS_MAX, NoVersion, READ_MAX};
use crate::data::store::sealed::SealedError;
use crate::data::store::{FileError, InGerman, StoreError};

impl InGerman for FileError {
    fn in_german(&self) -> String {
        let (path, doing) = (self.path.display(), while_doing(self.doing));
        format!("{path}: {}, {doing}", self.cause)
    }
}

impl InGerman for SealedError {
    fn in_german(&self) -> String {
        match self {
            Self::File(error) => error.in_german(),
            Self::Unreadable { path, why } => {
                format!("{}: sie ist nicht zu lesen ({why})", path.display())
            }
            Self::Changed { path, .. } => format!(
                "{}: sie wurde nach dem Versiegeln von Hand geändert",
                path.display()
            ),
        }
    }
}

impl InGerman for StoreError {
    fn in_german(&self) -> String {
        match self {
            Self::NoFolder => {
                "dieses System nennt keinen Ordner für Daten; mit --data nennen".into()
            }
            Self::NoChance { cause } => format!("das System gibt keine Zufallszahlen: {cause}"),
            Self::File(error) => error.in_german(),
            Self::Sealed(error) => error.in_german(),
            Self::Journal(error) => error.in_german(),
            Self::Unreadable { path, why } => {
                format!("{}: sie ist nicht zu lesen ({why})", path.display())
            }
            Self::CardFormat { path, format } => format!(
                "{}: Format {format}; dieses Programm kennt Format 1",
                path.display()
            ),
            Self::NoKey { path } => {
                format!("{}: sie ist kein Schlüssel: 64 Hexziffern", path.display())
            }
            Self::BadName { name } => {
                format!("„{name}“ kann kein Name sein: 1 bis 40 druckbare Zeichen")
            }
            Self::NotKept(why) => why.in_german(),
            Self::NoSuchJob { job } => format!("der Auftrag {job} ist nicht auf diesem Tablet"),
            // Where it may come up its words are shown, not these.
            Self::Refused(refusal) => format!("abgelehnt: {}", refusal.code()),
        }
    }
}

impl InGerman for LayoutFileError {
    fn in_german(&self) -> String {
        match self {
            Self::Unreadable { path, source } => {
                format!("{} ist nicht zu lesen: {source}", path.display())
            }
            Self::NoFile { path } => format!("{} ist keine Datei", path.display()),
            Self::TooLarge { path, bytes } => format!(
                "{} hat {bytes} Byte; ein Motorplan hat höchstens {LAYOUT_BYTES_MAX}. Nicht gelesen",
                path.display()
            ),
            Self::Faulty { path, faults } => {
                let faults: Vec<String> = faults.iter().map(InGerman::in_german).collect();
                format!(
                    "{} ist kein guter Motorplan:\n{}",
                    path.display(),
                    faults.join("\n")
                )
            }
        }
    }
}

impl InGerman for FolderFault {
    fn in_german(&self) -> String {
        match self {
            Self::Unreadable { folder, source } => format!(
                "der Ordner der Motorpläne {} ist nicht zu lesen: {source}",
                folder.display()
            ),
            Self::TooMany { folder, files } => format!(
                "der Ordner der Motorpläne {} hat {files} Dateien; gelesen werden nur die ersten \
                 {OWN_FILES_MAX} nach ihrem Namen",
                folder.display()
            ),
        }
    }
}

impl InGerman for NoVersion {
    fn in_german(&self) -> String {
        match self {
            Self::Sealed(error) => error.in_german(),
            Self::OtherName(path) => format!(
                "{}: ihr Name ist nicht der Hash dessen, was sie sagt",
                path.display()
            ),
            Self::OtherFormat { path, format } => format!(
                "{}: Format {format}; dieses Programm kennt {}",
                path.display(),
                shared_layouts::FORMAT
            ),
            Self::LongName { path, field } => format!(
                "{}: {field}: mehr als {NAME_CHARS_MAX} Zeichen",
                path.display()
            ),
            Self::From(path) => format!(
                "{}: from: höchstens {FROM_MAX} Namen von Fassungen",
                path.display()
            ),
            Self::Layout(fault) => fault.in_german(),
            Self::TooMany { folder, count } => format!(
                "{}: dort liegen {count} Fassungen, gelesen werden {READ_MAX}",
                folder.display()
            ),
        }
    }
}

impl InGerman for LayoutFault {
    fn in_german(&self) -> String {
        let (file, field) = (&self.file, DE.layout_field(&self.field));
        let rule = DE.layout_rule(&self.rule);
        match self.value.as_str() {
            "" => format!("{file}: {field}: {rule}"),
            value => format!("{file}: {field}: {value}: {rule}"),
        }
    }
}

impl InGerman for OwnLayoutError {
    fn in_german(&self) -> String {
        match self {
            Self::BadName(name) => format!(
                "„{name}“ kann keine Datei eines Motorplans benennen: nicht zu lang, ohne / \\ : * ? \
                 \" < > | und ohne Punkt am Anfang"
            ),
            Self::Shipped(name) => {
                format!(
                    "„{name}“ heißt ein Motorplan, der mitgeliefert ist; einen anderen Namen nehmen"
                )
            }
            Self::NoFreeName(name) => {
                format!("jeder Name wie „{name}“ ist im Ordner der Motorpläne vergeben")
            }
            Self::Faulty { name, count, first } => {
                format!(
                    "{name} hat {count} Fehler, der erste: {}",
                    first.in_german()
                )
            }
            Self::Unread(error) => error.in_german(),
            Self::Exists(path) => format!(
                "{} ist schon da; nichts wurde überschrieben. Eine andere Datei nennen",
                path.display()
            ),
            Self::NoPath => "keine Datei ist genannt".to_owned(),
            Self::Disk(error) => error.in_german(),
        }
    }
}

impl InGerman for OrderFault {
    fn in_german(&self) -> String {
        match self {
            Self::TooManyCylinders { count } => format!(
                "{count} Zylinder zu bearbeiten: eine genaue Reihenfolge gibt es für höchstens \
                 {PLANNED_CYLINDERS_MAX}"
            ),
            Self::TooManyWays { ways, limit } => format!(
                "{ways} Wege, die Zylinder zu verlassen; genau gerechnet wird mit höchstens \
                 {limit}: weniger Arbeitsstellungen angeben"
            ),
            Self::NoSuchCylinder { field, cylinder } => {
                let field = DE.layout_field(field);
                format!("{field}: der Motorplan hat keinen Zylinder {cylinder}")
            }
            Self::WantedIsDone { cylinder } => format!("Zylinder {cylinder} ist schon fertig"),
            Self::NoSuchBank { bank, banks } => {
                format!("der Motorplan hat {banks} Bänke, keine mit der Nummer {bank}")
            }
            Self::NotInFiringOrder { cylinder } => {
                format!("Zylinder {cylinder} fehlt in der Zündfolge: sein OT ist nicht bekannt")
            }
            Self::NoOffset { cylinder } => {
                format!("Zylinder {cylinder} hat keine Stellung, in der er bearbeitet werden kann")
            }
            Self::NoValves => "der Motor hat keine Ventile zu bearbeiten".to_owned(),
            Self::BadFigure { field, value, rule } => {
                let (field, value) = (DE.layout_field(field), figure(*value));
                format!("{field} = {value}: {}", order_rule(rule))
            }
        }
    }
}

/// A rule of the working order; one that has no name here keeps its own.
fn order_rule(english: &'static str) -> &'static str {
    match english {
        "a number" => "eine Zahl muss es sein",
        "a number of degrees" => "eine Zahl in Grad muss es sein",
        "0 to 10000 minutes" => "erlaubt ist 0 bis 10000 Minuten",
        other => other,
    }
}

impl InGerman for BenchError {
    fn in_german(&self) -> String {
        let what = quantity(self.quantity());
        match self {
            Self::OutOfRange {
                value,
                unit,
                from,
                to,
                ..
            } => {
                let (value, from, to) = (figure(*value), figure(*from), figure(*to));
                let line = format!("{what} = {value} {unit}: erlaubt ist {from} bis {to} {unit}");
                line.replace("  ", " ")
                    .replace(" :", ":")
                    .trim_end()
                    .to_owned()
            }
            Self::Unreadable { text, example, .. } => {
                let example = example.replace(" or ", " oder ").replace('.', ",");
                format!("{what} „{text}“ ist nicht zu lesen: etwa {example}")
            }
            Self::TooFew { given, needed, .. } => {
                format!("{what}: {given} angegeben, mindestens {needed} nötig")
            }
        }
    }
}

/// A figure as short as it can be, with the comma.
fn figure(value: f64) -> String {
    format!("{value}").replace('.', ",")
}

/// A quantity of the bench; one that has no name here keeps its own.
fn quantity(english: &'static str) -> &'static str {
    match english {
        "bore" => "Bohrung",
        "stroke" => "Hub",
        "rod length" => "Pleuellänge",
        "number of cylinders" => "Zahl der Zylinder",
        "angle off TDC" => "Winkel neben OT",
        "crank angle" => "Kurbelwinkel",
        "pressure" => "Druck",
        "length" => "Länge",
        "torque" => "Moment",
        "force" => "Kraft",
        "distance" => "Strecke",
        "volume" => "Menge",
        "angle" => "Winkel",
        "pressure rating" => "zulässiger Druck",
        "breakaway torque" => "Losbrechmoment",
        "seat diameter" => "Sitzdurchmesser",
        "fitting push" => "Kraft beim Einsetzen",
        "rim diameter" => "Durchmesser des Kranzes",
        "supply pressure" => "Druck am Eingang",
        "cylinder pressure" => "Druck im Zylinder",
        "orifice diameter" => "Durchmesser der Blende",
        "seated spring load" => "Federkraft, Ventil zu",
        "spring rate" => "Federrate",
        "spring height" => "Federhöhe",
        "spring travel" => "Federweg",
        "rock at the stem tip" => "Kippspiel am Schaftende",
        "guide length" => "Länge der Führung",
        "tip above the guide" => "Schaftende über der Führung",
        "odometer" => "Kilometerstand",
        "oil topped up" => "nachgefülltes Öl",
        "oil added since the work" => "Öl seit der Arbeit",
        "distance since the work" => "Strecke seit der Arbeit",
        "distance between first and last top-up" => {
            "Strecke zwischen erstem und letztem Nachfüllen"
        }
        "arc between both readings" => "Bogen zwischen beiden Ablesungen",
        "arc between both marks" => "Bogen zwischen beiden Marken",
        "active turns" => "federnde Windungen",
        "outer coil diameter" => "Außendurchmesser der Feder",
        "wire diameter" => "Drahtdurchmesser",
        "solid spring height" => "Blocklänge der Feder",
        "shear modulus" => "Schubmodul",
        "oil top-ups" => "Mengen nachgefüllten Öls",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trayzero_core::bench::limits;

    #[test]
    fn a_figure_out_of_its_range_is_told_in_german_with_its_range() {
        let Err(error) = limits::BORE.check(0.5) else {
            panic!("a bore of half a millimetre is none")
        };
        assert_eq!(
            error.in_german(),
            "Bohrung = 0,5 mm: erlaubt ist 1 bis 2000 mm"
        );
        let Err(error) = limits::CYLINDERS.check(65.0) else {
            panic!("65 cylinders are too many")
        };
        assert_eq!(
            error.in_german(),
            "Zahl der Zylinder = 65: erlaubt ist 1 bis 64"
        );
    }
}
