//! Why an event is refused and the way out, in German.

use trayzero_core::engine::ValveName;
use trayzero_core::job::{CrankAt, NotedFigure, PictureRule, Refusal, Refusal as R};
use trayzero_core::parts::Place;

use super::de::comma;
use super::{DE, capital};
use crate::data::store::InGerman;

/// Why, in one sentence.
#[expect(clippy::too_many_lines, reason = "a table: one sentence a refusal")]
pub fn why(refusal: &Refusal) -> String {
    match refusal {
        R::NotOpened => "Dieser Auftrag ist nicht geöffnet.".into(),
        R::AlreadyOpened => "Dieser Auftrag ist schon offen.".into(),
        R::BadLayout { faults, first } => {
            format!(
                "Der Motorplan hat {faults} Fehler, der erste: {}.",
                first.in_german()
            )
        }
        R::JobIsOver => "Dieser Auftrag ist beendet.".into(),
        R::JobIsPaused => "Dieser Auftrag ruht.".into(),
        R::NotPaused => "Dieser Auftrag ruht nicht.".into(),
        R::TextTooLong { chars } => format!("Der Text ist zu lang: {chars} Zeichen."),
        R::BadFigure { figure, value } => {
            let (name, rule) = figure_and_rule(*figure);
            let value = value.replace('.', ",");
            format!("{name}: {value}; erlaubt ist: {rule}.")
        }
        R::NoSuchCylinder { cylinder } => {
            format!("Dieser Motor hat keinen Zylinder {cylinder}.")
        }
        R::NoSuchValve { valve } => format!("Dieser Motor hat kein Ventil {}.", name(*valve)),
        R::NoSuchBank { bank } => format!("Dieser Motor hat keine Bank Nummer {bank}."),
        R::NoSuchEvent { .. } => "Einen solchen Schritt gibt es nicht.".into(),
        R::CannotWithdraw { .. } => "Dieser Schritt lässt sich nicht zurücknehmen.".into(),
        R::NotTheLast { .. } => "Ein späterer Schritt baut auf diesem auf.".into(),
        R::WithdrawalBreaks { rule } => format!("Zurückgenommen gilt: {}.", DE.broken(*rule)),
        R::SignatureUsed { person } => {
            format!("Der Code von {person} steht schon für eine andere Unterschrift.")
        }
        R::SamePerson { person } => {
            format!("{person} hat schon unterschrieben; es müssen zwei Personen sein.")
        }
        R::NoSuchConflict { .. } => "Einen solchen Widerspruch gibt es nicht.".into(),
        R::SameIdentity { .. } => "Zwei Tablets sagen das unter ein und derselben Kennung.".into(),
        R::BadSeal => "Die Signatur des Tablets ist nicht wohlgeformt.".into(),
        R::ForemanMustSee {
            cylinder,
            loss_percent,
        } => format!(
            "Zylinder {cylinder} verliert {loss_percent:.0} %: der Meister muss es erst sehen."
        ),
        R::NothingToAgree { cylinder } => {
            format!("Zylinder {cylinder} wartet auf keinen Meister.")
        }
        R::NothingSeen => "Es steht nicht da, was gesehen wurde.".into(),
        R::NotAsSeen => "Gesehen wurde weder das Angezeigte noch das Gemeldete.".into(),
        R::SignaturesShort { needed, signed } => {
            format!("{signed} von {needed} Personen haben unterschrieben.")
        }
        R::SaysNothing => "Hier stehen noch keine Worte.".into(),
        R::BadPicture { rule } => format!("Das Bild muss {}.", picture(*rule)),
        R::PicturesFull { most } => format!("Dieser Auftrag hat schon {most} Bilder."),
        R::PaperAhead => "Die Zeit auf dem Papier liegt noch vor uns.".to_owned(),
        R::PaperEarlier => {
            "Die Zeit auf dem Papier liegt vor dem Letzten, was ein Tablet weiß.".to_owned()
        }
        R::PaperNotOpened { .. } => {
            "Es soll vom Papier stammen, und niemand hat dafür unterschrieben.".to_owned()
        }
        R::NeverFromPaper => "Das wird nie vom Papier übernommen.".to_owned(),
        R::NotLeftYet => "Der Auftrag ist nicht geschlossen: das Fahrzeug ist noch da.".to_owned(),
        R::CoverStillOn { bank } => format!("Die Haube von Bank {} ist drauf.", bank + 1),
        R::CoverAlreadyOff { bank } => format!("Die Haube von Bank {} ist ab.", bank + 1),
        R::PlugStillIn { cylinder } => format!("Die Kerze von Zylinder {cylinder} ist drin."),
        R::PlugAlreadyOut { cylinder } | R::GatePlugsOut { cylinder, .. } => {
            format!("Die Kerze von Zylinder {cylinder} ist draußen.")
        }
        R::PlugHoleTaken { cylinder, by } => {
            format!(
                "Im Kerzenloch von Zylinder {cylinder} steckt: {}.",
                DE.item(by)
            )
        }
        R::NotInPlugHole { cylinder, item } => format!(
            "Im Kerzenloch von Zylinder {cylinder} steckt nicht: {}.",
            DE.item(item)
        ),
        R::HoseInUse { cylinder } | R::AirStillOn { cylinder } => {
            format!("Auf Zylinder {cylinder} ist Luft.")
        }
        R::HoseNotIn { cylinder } => {
            format!("Der Schlauch ist nicht in Zylinder {cylinder}.")
        }
        R::AirNotOn { cylinder } => format!("Auf Zylinder {cylinder} ist keine solche Luft."),
        R::HoldStillIn { cylinder, hold } => {
            format!("In Zylinder {cylinder} hält noch: {}.", DE.hold(*hold))
        }
        R::HoldNotIn { cylinder } => format!("In Zylinder {cylinder} ist kein solcher Halter."),
        R::WrenchStillOn | R::GateWrench => "Der Schlüssel ist auf der Kurbelwelle.".into(),
        R::WrenchNotOn => "Der Schlüssel ist nicht auf der Kurbelwelle.".into(),
        R::CrankElsewhere { cylinder, at } => format!(
            "Zylinder {cylinder} ist nicht in Arbeitsstellung: {}.",
            crank(*at)
        ),
        R::CrankMoved { at } => format!("Inzwischen wurde gedreht: {}.", crank(*at)),
        R::NotAWorkingPosition { at } => format!(
            "Zylinder {} wird nicht bei {:+}° bearbeitet.",
            at.cylinder, at.offset_deg
        ),
        R::TurnsBack { turn_deg } => {
            format!(
                "Eine Drehung um {turn_deg:.0}° geht rückwärts; dieser Motor erlaubt das nicht."
            )
        }
        R::TurnDoesNotLead {
            turn_deg,
            wanted_deg,
        } => format!("Eine Drehung um {turn_deg:.0}° führt nicht dorthin; {wanted_deg:.0}° schon."),
        R::SpringHeldNow { valve } => format!("Die Feder ist gespannt: {}.", name(*valve)),
        R::ValveUnlocked { valve } | R::StopOverOpenValve { valve } => {
            format!("Ohne Keile: {}.", name(*valve))
        }
        R::ValveCannotHaveFallen { cylinder, valve } => match valve {
            Some(valve) => format!("Hat seine Keile: {}.", name(*valve)),
            None => format!("Welches Ventil von Zylinder {cylinder} gefallen ist, fehlt."),
        },
        R::OverRating { bar, rating_bar } => {
            let in_bar = |bar| format!("{} bar", comma(bar, 1));
            DE.above_rating(&in_bar(*bar), &in_bar(*rating_bar))
        }
        R::LookFirst { danger } => {
            format!("Zwei Tablets sind uneins: {}.", DE.danger(*danger))
        }
        R::OutOfTurn { valve, asked, next } => match next {
            Some(next) => format!(
                "{}: als Nächstes kommt „{}“, nicht „{}“.",
                name(*valve),
                DE.stage(*next),
                DE.stage(*asked)
            ),
            None => format!("Schon geprüft: {}.", name(*valve)),
        },
        R::NothingHolds { valve } => {
            format!("Nichts hält {}: keine Luft, kein Halter.", name(*valve))
        }
        R::TooManyLocksDropped {
            locks_dropped,
            most,
        } => {
            format!("{locks_dropped} Keile können hier nicht weg sein; höchstens {most}.")
        }
        R::StopperMissing {
            bank,
            wanted,
            aboard,
        } => format!(
            "Bank {}: {aboard} von {wanted} Stopfen in den Ölrückläufen.",
            bank + 1
        ),
        R::HoleOpen { cylinder } => {
            format!("Das Kerzenloch von Zylinder {cylinder} ist offen: ein Keil könnte hinein.")
        }
        R::PartsSwapped { item, valve, own } => format!(
            "Bei {} liegt, was zu {} gehört: {}.",
            DE.valve(*valve),
            DE.valve(*own),
            DE.item(item)
        ),
        R::NotAtItsTop { at } => format!(
            "Zylinder {} steht {:+} Grad neben seinem Zünd-OT.",
            at.cylinder, at.offset_deg
        ),
        R::AlreadyVerified { cylinder } => {
            format!("An Zylinder {cylinder} ist jedes Ventil geprüft.")
        }
        R::Short { shortfall: s } => format!(
            "{} verlangt, {} {}.",
            DE.items_n(&s.item, s.wanted),
            s.there,
            DE.at_place(s.place)
        ),
        R::BadCount { count } => format!("{count} ist hier keine Anzahl."),
        R::NotReplaceable { item } => format!("Kommt nicht neu aus dem Vorrat: {}.", DE.item(item)),
        R::PartIsHome { item, valve } => {
            format!("Nicht lose: {} von {}.", DE.item(item), name(*valve))
        }
        R::BadMove { item, from, to } => format!(
            "{} geht nicht von „{}“ nach „{}“.",
            capital(&DE.item(item)),
            DE.place(*from),
            DE.place(*to)
        ),
        R::NoSuchDrop { .. } => "Ein solcher Fall wurde nicht gemeldet.".into(),
        R::NotAdrift { .. } => "Dieses Teil ist nicht vermisst.".into(),
        R::SearchIncomplete { missing } => {
            format!("{missing} Orte der Suchliste fehlen noch.")
        }
        R::NotOfOneValve { item } => format!(
            "An diesem Motor gehört kein Teil dieser Art zu einem einzigen Ventil: {}.",
            DE.item(item)
        ),
        R::NoSuchSwap { .. } => "Ein solcher Tausch ist nicht offen.".into(),
        R::NotKit { item } => format!("Gehört nicht zum Satz: {}.", DE.item(item)),
        R::GateValves {
            bank,
            unverified,
            first,
        } => format!(
            "Bank {}: {unverified} Ventile nicht geprüft, das erste: {}.",
            bank + 1,
            name(*first)
        ),
        R::GateLoose { item, count } => format!("{} in der Schale.", DE.items_n(item, *count)),
        R::GateAboard { bank, item, count } => format!(
            "{} an Bord von Bank {}.",
            DE.items_n(item, *count),
            bank + 1
        ),
        R::GateAdrift { item, count } => format!("{} vermisst.", DE.items_n(item, *count)),
        R::GateNotCounted { counts } => format!("{counts} von 2 Zählungen sind genommen."),
        R::GateCountsDiffer { item, place } => format!(
            "Die Zählungen sind verschieden: {}, {}.",
            DE.item(item),
            DE.place(*place)
        ),
        R::GateCountOff { item, place } => format!(
            "Beide Zählungen weichen vom Buch ab: {}, {}.",
            DE.item(item),
            DE.place(*place)
        ),
        R::GateConflict { conflicts } => {
            format!("Offene Widersprüche zwischen Tablets: {conflicts}.")
        }
        R::GateNotConfirmed { journals } => {
            format!("Zeilen dieses Auftrags sind nicht bestätigt, in {journals} Journalen.")
        }
        R::GateBankOpen { bank } => format!("Bank {} ist nicht geschlossen.", bank + 1),
        R::GateKitOut { item, count } => format!("{} an Bord.", DE.items_n(item, *count)),
    }
}

/// The way out, in one sentence.
#[expect(clippy::too_many_lines, reason = "a table: one sentence a refusal")]
pub fn way_out(refusal: &Refusal) -> &'static str {
    match refusal {
        R::NotOpened => "Erst mit einem Motorplan öffnen.",
        R::AlreadyOpened => "Für ein anderes Fahrzeug einen neuen Auftrag anlegen.",
        R::BadLayout { .. } => "Motorplan berichtigen, dann öffnen.",
        R::JobIsOver => "Das Schließen zurücknehmen oder einen neuen Auftrag anlegen.",
        R::JobIsPaused => "Den Auftrag weiterführen, dann noch einmal tippen.",
        R::NotPaused => "Weiterarbeiten.",
        R::TextTooLong { .. } => "Auf 2000 Zeichen kürzen.",
        R::BadFigure { .. } => "Noch einmal ablesen und neu eintragen.",
        R::NoSuchCylinder { .. } | R::NoSuchValve { .. } | R::NoSuchBank { .. } => {
            "Wählen, was der Motorplan hat."
        }
        R::NoSuchEvent { .. } => "In der Liste nachsehen: er ist schon zurückgenommen.",
        R::CannotWithdraw { .. } => "Als neuen Schritt eintragen, was jetzt stimmt.",
        R::NotTheLast { .. } => "Erst den späteren Schritt zurücknehmen.",
        R::WithdrawalBreaks { .. } => "Erst sicher machen, dann zurücknehmen.",
        R::SignatureUsed { .. } => "Den Code noch einmal eingeben.",
        R::SamePerson { .. } => "Eine zweite Person um ihren Code bitten.",
        R::NoSuchConflict { .. } => "Die Liste der Widersprüche noch einmal ansehen.",
        R::SameIdentity { .. } => {
            "Am Motor nachsehen und an beiden Tablets fragen, wer es gesagt hat."
        }
        R::BadSeal => "Das Programm auf dem Tablet neu starten.",
        R::ForemanMustSee { .. } => "Den Meister schauen und seinen Code eingeben lassen.",
        R::NothingToAgree { .. } => "Weiterarbeiten.",
        R::NothingSeen => "Am Motor nachsehen und sagen, was da ist.",
        R::NotAsSeen => "Schritt für Schritt antippen, was stimmt, dann neu nachsehen.",
        R::SignaturesShort { .. } => "So viele Personen um ihren Code bitten.",
        R::SaysNothing => "In ein paar Worten sagen.",
        R::BadPicture { .. } => "Das Bild neu aufnehmen und noch einmal anfügen.",
        R::PicturesFull { .. } => "Eines zurücknehmen, das am wenigsten zeigt.",
        R::PaperAhead | R::PaperEarlier => "Tag und Uhrzeit noch einmal vom Papier ablesen.",
        R::PaperNotOpened { .. } => "Das Papier noch einmal eingeben und unterschreiben.",
        R::NotLeftYet => "Erst den Auftrag schließen.",
        R::NeverFromPaper => "Wer unterschreibt, tut es jetzt am Tablet.",
        R::CoverStillOn { .. } => "Haube gerade abheben und das zuerst antippen.",
        R::CoverAlreadyOff { .. } => "Mit dem nächsten Schritt weiter.",
        R::PlugStillIn { .. } => "Kerze heraus und das zuerst antippen.",
        R::PlugAlreadyOut { .. } => "Einen Lüftdeckel in das Loch setzen.",
        R::PlugHoleTaken { .. } => "Das zuerst herausnehmen.",
        R::NotInPlugHole { .. } => "Ins Kerzenloch schauen und antippen, was darin ist.",
        R::HoseInUse { .. } => "Luft abstellen, bevor der Schlauch herauskommt.",
        R::HoseNotIn { .. } => "Lüftdeckel heraus, Schlauch hinein.",
        R::AirStillOn { .. } => "Jedes offene Ventil verkeilen, dann Luft abstellen.",
        R::AirNotOn { .. } => "Am Regler nachsehen und antippen, was er zeigt.",
        R::HoldStillIn { .. } => "Jedes offene Ventil verkeilen, dann herausnehmen.",
        R::HoldNotIn { .. } => "Den Halter antippen, der drin ist.",
        R::WrenchStillOn => "Erst den Schlüssel von der Kurbelwelle nehmen.",
        R::WrenchNotOn => "Erst den Schlüssel auf die Kurbelwelle setzen.",
        R::CrankElsewhere { .. } => "Erst dorthin drehen; Luft aus, Ventile verkeilt.",
        R::CrankMoved { .. } => "An der Kurbelwelle nachsehen und antippen, wo sie steht.",
        R::NotAWorkingPosition { .. } => "Eine Arbeitsstellung des Motorplans wählen.",
        R::TurnsBack { .. } => "In Laufrichtung weiterdrehen.",
        R::TurnDoesNotLead { .. } => "Am Umfang noch einmal ablesen und eintragen.",
        R::SpringHeldNow { .. } => "Keile heraus, oder Feder entlasten und zurücknehmen.",
        R::ValveUnlocked { .. } => "Erst seine Keile einsetzen.",
        R::ValveCannotHaveFallen { .. } => "Das Ventil ohne Keile wählen, das gefallen ist.",
        R::StopOverOpenValve { .. } => {
            "Erst seine Keile einsetzen; fiel es in den Zylinder, dies als Befund notieren."
        }
        R::OverRating { .. } => "Den Regler zurückdrehen.",
        R::LookFirst { .. } => "Am Motor nachsehen und sagen, was da ist.",
        R::OutOfTurn { .. } => "Die Stufe antippen, die als Nächstes kommt.",
        R::NothingHolds { .. } => "Luft anlegen oder einen mechanischen Halter angeben.",
        R::TooManyLocksDropped { .. } => "Eintragen, wie viele Keile weg sind.",
        R::StopperMissing { .. } => "Stopfen einsetzen und als an Bord antippen.",
        R::HoleOpen { .. } => "Einen Lüftdeckel einsetzen.",
        R::PartsSwapped { .. } => "Jedes zu seinem Ventil legen, dann antippen, dass beide liegen.",
        R::NotAtItsTop { .. } => "Erst die Kurbelwelle auf seinen OT drehen.",
        R::AlreadyVerified { .. } => "Einen anderen Zylinder wählen.",
        R::Short { shortfall } => match shortfall.place {
            Place::Stock => "Erst aus dem Lager ausgeben.",
            Place::Kit => "In den Satz zählen oder dort abnehmen, wo es ist.",
            Place::Tray => "Suchen oder ein neues aus dem Vorrat nehmen.",
            _ => "Nachsehen, wo es ist, und das zuerst antippen.",
        },
        R::BadCount { .. } => "Die Zahl eintragen, die zu sehen ist.",
        R::NotReplaceable { .. } => "Ein Teil wählen, das neu kommt.",
        R::PartIsHome { .. } => "Das Ventil auf die Stufe zurücknehmen, bei der es lose ist.",
        R::BadMove { .. } => "Einen anderen Ort dafür wählen.",
        R::NoSuchDrop { .. } => "Erst melden, was gefallen ist.",
        R::NotAdrift { .. } => "Erst den früheren Fund oder die Suche zurücknehmen.",
        R::SearchIncomplete { .. } => "Alle absuchen, zu zweit.",
        R::NotOfOneValve { .. } => "Ein Teil wählen, das auf sein Ventil zurück muss.",
        R::NoSuchSwap { .. } => "In der Teileliste nachsehen: er ist schon behoben.",
        R::NotKit { .. } => "Als Teil eintragen.",
        R::GateValves { .. } => "Jedes Ventil der Bank bis „geprüft“ bringen.",
        R::GateLoose { .. } => "An seinen Platz bringen, oder weglegen, wenn es ersetzt ist.",
        R::GateAboard { .. } => "Abnehmen und in den Satz legen.",
        R::GatePlugsOut { .. } => "Lüftdeckel heraus, Kerze hinein.",
        R::GateAdrift { .. } => "Finden, oder zu zweit überall suchen und unterschreiben.",
        R::GateWrench => "Den Schlüssel abnehmen.",
        R::GateNotCounted { .. } => "Zwei Personen zählen, jede für sich.",
        R::GateCountsDiffer { .. } | R::GateCountOff { .. } => {
            "Noch einmal auslegen, was nicht übereinstimmt; nur das zählen beide neu."
        }
        R::GateConflict { .. } => "Am Motor nachsehen und jeden klären.",
        R::GateNotConfirmed { .. } => {
            "Auf der Tafel sehen, von wem sie sind, und den Meister schauen lassen."
        }
        R::GateBankOpen { .. } => "Erst die Bank durch ihr Tor schließen.",
        R::GateKitOut { .. } => "Zurück in den Satz legen.",
    }
}

fn figure_and_rule(figure: NotedFigure) -> (&'static str, &'static str) {
    use NotedFigure as F;
    match figure {
        F::DistanceKm => ("Strecke", "50 bis 200.000 km"),
        F::LitresSince => ("Öl", "0 bis 200 l"),
        F::Litres => ("Öl", "0 bis 100 l"),
        F::OdometerKm => ("Kilometerstand", "0 bis 10 Millionen km"),
        F::TorqueNm => ("Moment", "0,5 bis 500 Nm"),
        F::SupplyBar => ("Druck am Eingang", "0,1 bis 40 bar"),
        F::CylinderBar => ("Druck im Zylinder", "0 bis zum Druck am Eingang"),
        F::RockMm => ("Kippspiel", "0 bis 20 mm"),
        F::LengthMm => ("Länge", "1 bis 300 mm"),
        F::TurnDeg => ("Drehung", "höchstens zwei Umdrehungen"),
        F::Bar => ("Druck", "mehr als 0 bar"),
        F::Sha256 => ("SHA-256", "64 kleine Hexziffern"),
    }
}

fn picture(rule: PictureRule) -> &'static str {
    match rule {
        PictureRule::Named => "durch zwei SHA-256 aus 64 Hexziffern benannt sein",
        PictureRule::Size => "höchstens 32 MiB haben",
        PictureRule::CopySize => "eine Kopie von höchstens 2 MiB haben",
    }
}

fn name(valve: ValveName) -> String {
    DE.valve(valve)
}

fn crank(at: Option<CrankAt>) -> String {
    match at {
        None => "sie steht an keiner bekannten Stelle".to_owned(),
        Some(at) => format!("sie steht an Zylinder {}", at.cylinder),
    }
}
