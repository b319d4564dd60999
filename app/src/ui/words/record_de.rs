//! The record in German.
// Long because it is a table: every text of the record.

use trayzero_core::bench::OilRate;
use trayzero_core::job::{Event, Reading};
use trayzero_core::record::{
    DropLine, Ending, FindingLine, FindingName, JobStatus, NoteKind, OpenPoint, Reason,
    SignatureLine, SignedFor, Stamp, Suspect,
};

use super::Words;
use super::record::{ProofTold, RecordWords, numbers, oil_used, oil_ways};
use crate::data::store::InGerman;
use crate::ui::units::{self, Figures};

/// The words of the record in German.
pub const RECORD_DE: RecordWords = RecordWords {
    tag: "de",
    title: "Arbeitsprotokoll",
    bay: "Platz",
    order_number: "Nummer",
    engine: "Motor",
    opened: "Begonnen",
    finished_at: "Fertig",
    stopped_at: "Abgebrochen",
    latest: "Letzter Eintrag",
    working_time: "Arbeitszeit",
    technicians: "Mechaniker",
    signed_by: "Unterschrieben von",
    nobody: "niemand",
    check_value: "Prüfwert",
    tablet_key: "Tabletschlüssel",
    shop_key: "Werkstattschlüssel",
    times: "Zeiten",
    since: "seit",
    unfinished: "NICHT FERTIG",
    breakaway: "Losbrechmoment",
    valves_verified: "Ventile geprüft",
    adrift_now: "jetzt vermisst",
    drops_reported: "Stürze gemeldet",
    banks_closed: "Bänke zu",
    conflicts_open: "Widersprüche offen",
    left_open: "Offen geblieben",
    nothing_open: "Nichts ist offen.",
    take_in: "Annahme",
    complaint: "Beanstandung",
    odometer: "Kilometerstand",
    codes: "Fehlercodes",
    smokes_when: "Raucht",
    seen: "Auch gesehen",
    oil: "Ölverbrauch",
    no_take_in: "Bei der Annahme wurde nichts notiert.",
    evidence: "Was wofür und wogegen spricht",
    evidence_note: "Was gesehen und abgelesen wurde, und was für und gegen jede Ursache spricht. Das ist keine Diagnose: keine Zeile wiegt mehr als eine andere, und es entscheidet, wer dafür ausgebildet ist.",
    speaks_for: "Spricht dafür",
    speaks_against: "Spricht dagegen",
    nothing_speaks: "nichts notiert",
    leak_down: "Druckverlust",
    before: "Vorher",
    after: "Nachher",
    cylinder: "Zylinder",
    loss: "Verlust",
    class: "Klasse",
    heard: "Luft zu hören",
    foreman: "Meister einverstanden",
    not_read: "nicht gemessen",
    leak_note: "Verlust ist der Anteil des Vordrucks, den der Zylinder nicht hält. Nach üblicher Praxis ist bis 10 % gut, bis 20 % brauchbar, bis 30 % schlecht; darüber wird erst das Leck gesucht.",
    diagram_note: "Jedes Zeichen ist ein Ventil, nach der letzten gesehenen Stufe:",
    valves: "Alle Ventile",
    valve: "Ventil",
    minutes: "min",
    found_and_done: "Gefunden und getan",
    minutes_note: "Uhrzeiten, zu denen jede Stufe gesehen wurde; ein Datum steht darunter, wo es ein anderer Tag ist als der genannte. Minuten sind Arbeitsminuten am Ventil, ohne Pausen, ohne den Weg zum Zylinder und ohne Zeit, die ein Sturz gekostet hat.",
    day: "Tag",
    findings: "Befunde",
    cylinder_findings: "Befunde an Zylindern",
    from_paper: "Vom Papier eingegeben (P)",
    from_paper_note: "(P) steht hinter dem, was auf Papier getan und später eingegeben wurde: Name und Zeit sind die der Eingabe, und keine Arbeitszeit wurde daraus gelernt.",
    entered_by: "eingegeben von",
    done_by_paper: "getan von, laut Papier",
    paper_whole: "alle da",
    paper_not_whole: "NICHT VOLLSTÄNDIG",
    pictures: "Bilder",
    pictures_note: "Kopien mit höchstens 2000 Pixeln je Seite, ohne Ort und Gerät. Die aufgenommenen Dateien bleiben auf dem Tablet; ihre Prüfsummen stehen in den Daten des Protokolls.",
    picture_missing: "Das Bild war nicht zur Hand, als dieses Protokoll entstand.",
    picture_changed: "Die Datei, die zur Hand war, ist nicht das angefügte Bild. Sie wird nicht gezeigt.",
    picture_n: |n| format!("Bild {n}"),
    parts: "Teile",
    part: "Teil",
    issued: "Ausgegeben",
    issued_net: "Behalten",
    caution: "Warnung",
    used: "Verbaut",
    spoiled: "Verdorben",
    returned: "Zurück",
    goes_back: "Noch zurück",
    scrapped: "Schrottkiste",
    missing: "Fehlt",
    parts_note: "Verbaut: neue Teile, die an den Motor kamen. Schrottkiste: alte und verdorbene Teile zusammen. Fehlt: vermisst, oder als nicht gefunden unterschrieben.",
    order_list: "Bestellliste",
    order_name: "Auf der Liste als",
    to_order: "Bestellen",
    counted_as: "Gezählt als",
    not_on_list: "nicht auf der Liste",
    kit: "Werkzeugsatz",
    counted_in: "Eingezählt",
    in_kit: "Im Satz",
    aboard: "An Bord",
    drops: "Heruntergefallenes",
    no_drops: "Nichts ist heruntergefallen.",
    dropped: "Gefallen",
    how_ended: "Wie es ausging",
    when: "Wann",
    who: "Wer",
    closings: "Schließen der Bänke",
    closing_of: "Bank",
    no_closings: "Noch keine Bank ist zu.",
    item: "Teil",
    place: "Ort",
    first_count: "Erste Zählung",
    second_count: "Zweite Zählung",
    cover_signed: "Haube drauf, unterschrieben von",
    reopened: "Diese Haube kam später wieder herunter.",
    other_counts: "Zählungen ohne Schließen",
    other_counts_note: "Sie wichen ab, oder danach wurde etwas bewegt; es wurde neu gezählt.",
    signatures: "Unterschriften",
    no_signatures: "Noch niemand hat unterschrieben.",
    signed_what: "Unterschrieben für",
    steps: "Davor und danach",
    step: "Was zu sehen ist",
    before_first: "Vor dem ersten Ventil",
    after_last: "Nach dem letzten Ventil",
    not_seen: "nicht gesehen",
    cautions: "Bestätigte Warnungen",
    notes: "Notizen",
    conflicts: "Widersprüche zwischen Tablets",
    what_was_done: "Eintrag",
    why_not: "Warum er nicht gelten kann",
    stands_instead: "Was stattdessen gilt",
    resolved: "Geklärt",
    still_open: "noch offen",
    withdrawn: "Zurückgenommen",
    taken_back: "Zurückgenommen von",
    remark: "Hinweis",
    adaptor: "Aufsatz",
    replaced: "neu:",
    held_by: "gehalten:",
    held_air: "Luft",
    seals_spoiled: "neue Dichtungen beschädigt:",
    locks_dropped: "Keile weg:",
    clearance_unknown: "Spiel unbekannt: der Motorplan hat keine Führungslängen",
    litres_per_way: "l auf 1.000 km",
    quarts_per_way: "Quart auf 1.000 Meilen",
    service_note: "Für diese Arbeit gelten die Angaben des Fahrzeugherstellers und die örtlichen Sicherheitsregeln.",
    finished_but: "FERTIG · siehe was offen blieb",
    journal_faulty: "JOURNAL FEHLERHAFT",
    journal_faulty_text: "Dieses Protokoll beruht auf einem Journal, das nicht bis zum Ende stimmt. Was nach der genannten Zeile kam, steht nicht darin.",
    not_signed: "NICHT BESTÄTIGT",
    not_signed_text: "Was hier genannt ist, steht in den Journalen, aber eine Unterschrift darauf zählt nicht. Nichts davon steht in diesem Protokoll.",
    journal_fault: |f| {
        let why = f.why.in_german();
        format!("Tablet {}, Zeile {}: {why}.", f.tablet, f.line)
    },
    job_status: |status| match status {
        JobStatus::UnderWay => "NICHT FERTIG · Arbeit läuft",
        JobStatus::Resting => "NICHT FERTIG · Arbeit ruht",
        JobStatus::Finished => "fertig",
        JobStatus::Stopped => "NICHT FERTIG · abgebrochen",
    },
    unfinished_text: |status| match status {
        JobStatus::Stopped => {
            "Die Arbeit wurde vor ihrem Ende abgebrochen. Was offen blieb, steht unten; der Motor darf nicht gestartet werden, bevor jede Zeile erledigt ist."
        }
        _ => {
            "Die Arbeit läuft noch. Was offen ist, steht unten; der Motor darf nicht gestartet werden, bevor diese Arbeit abgeschlossen ist."
        }
    },
    page_of: |n, m| format!("Seite {n} von {m}"),
    times_at: |offset| format!("nach der Uhr des Tablets, UTC{offset}"),
    check_text: |value| {
        format!(
            "Prüfwert {value}: die ersten Stellen des letzten Kettenglieds im Journal der Arbeit. Wer das Journal hat, sieht daran, dass dieses Protokoll dazugehört und keine Zeile davor geändert wurde."
        )
    },
    proof_text: |proof| match proof {
        ProofTold::Without => {
            "An dieser Datei hängt nichts: Sie ist ein Ausdruck und beweist für sich nichts."
        }
        ProofTold::Unsigned => {
            "An dieser Datei hängen die Journale der Arbeit, das Buch der Werkstatt und eine Liste ihrer SHA-256-Werte. Kein Tablet hat die Liste unterschrieben, denn das Protokoll ist aus einem Ordner gemacht: Die Siegel zeigen, dass keine Zeile dieser Journale geändert wurde, aber nicht, dass kein Journal fehlt."
        }
        ProofTold::ByTablet(_) => {
            "An dieser Datei hängen alle Journale der Arbeit und eine Liste ihrer SHA-256-Werte, unterschrieben mit dem Schlüssel des Tablets, das das Protokoll gemacht hat: Wer die Datei hat, kann prüfen, dass seither nichts geändert, weggelassen oder hinzugefügt wurde. Das beweist nicht, dass wahr ist, was eingetragen wurde. Das Tablet gehört zu keiner Werkstatt, also bürgt sonst niemand für seinen Schlüssel, und wer das Tablet hatte, konnte ein anderes Protokoll schreiben: Die Wörter seines Schlüssels mit denen vergleichen, die sein Besitzer nennt."
        }
        ProofTold::ByMember { .. } => {
            "An dieser Datei hängen alle Journale der Arbeit, das Buch der Werkstatt und eine Liste ihrer SHA-256-Werte, unterschrieben mit dem Schlüssel des Tablets, das das Protokoll gemacht hat: Wer die Datei hat, kann prüfen, dass seither nichts geändert, weggelassen oder hinzugefügt wurde und dass Tablets und Leute zur Werkstatt gehören. Das beweist nicht, dass wahr ist, was eingetragen wurde, und nicht, wer das Tablet hatte. Die Wörter des Werkstattschlüssels mit denen vergleichen, die die Werkstatt nennt."
        }
    },
    suspect: |suspect| match suspect {
        Suspect::Seals => "Ventilschaftdichtungen",
        Suspect::Rings => "Kolbenringe",
        Suspect::Elsewhere => "Anderswo",
    },
    reason,
    finding,
    ending,
    signed_for,
    event_name,
    open_point,
    note_kind: |kind| match kind {
        NoteKind::Noted => "Notiz",
        NoteKind::Paused => "Arbeit ruht",
        NoteKind::Stopped => "Arbeit abgebrochen",
    },
    oil_rate,
    diagram_alt: |bank, verified, all| {
        format!(
            "Bank {bank} von oben, vorn ist links: {verified} von {all} Ventilen geprüft. Die Tabelle aller Ventile sagt dasselbe."
        )
    },
    chart_alt: |before, after| {
        format!(
            "Balken des Verlusts jedes Zylinders in Prozent, vorher ({before} gemessen) und nachher ({after} gemessen). Die Tabelle darunter hat die Zahlen."
        )
    },
};

fn reason(words: &Words, figures: Figures, reason: &Reason) -> String {
    let rate = |litres: f64| oil_used(&RECORD_DE, words, figures, litres);
    match reason {
        Reason::SmokeAfterIdling => {
            "Rauch nach Leerlauf: Öl sammelt sich an den Schäften, solange wenig verbrannt wird."
                .into()
        }
        Reason::SmokeOnOverrun => {
            "Rauch im Schub: die geschlossene Drossel saugt Öl durch die Führungen.".into()
        }
        Reason::SmokeColdStart => {
            "Rauch beim Kaltstart: Öl ist im Stand an den Schäften hinuntergelaufen.".into()
        }
        Reason::SmokeUnderLoad => {
            "Rauch unter Last: was an den Ringen vorbeigeht, wächst mit der Last.".into()
        }
        Reason::NoSmoke => "Rauch wurde nie gesehen.".into(),
        Reason::OilUsed { litres_per_1000_km } => {
            format!("Öl wird verbraucht: {}.", rate(*litres_per_1000_km))
        }
        Reason::OilUsedWithoutSmoke { litres_per_1000_km } => format!(
            "Öl wird verbraucht, {}, doch Rauch ist keiner zu sehen: es kann unverbrannt austreten.",
            rate(*litres_per_1000_km)
        ),
        Reason::NoOilUseShown { litres_per_1000_km } => format!(
            "Die Nachfüllungen zeigen keinen Verbrauch: {}, und gar keiner passt auch dazu.",
            rate(*litres_per_1000_km)
        ),
        Reason::AllHoldAir { worst_loss_percent } => format!(
            "Jeder Zylinder hält seine Luft: der schlechteste verliert {}.",
            words.percent(*worst_loss_percent)
        ),
        Reason::HeardAt { heard, cylinders } => format!(
            "Luft geht verloren, zu hören: {} (Zylinder {}).",
            words.heard_at(*heard),
            numbers(cylinders)
        ),
        Reason::PastLimit { cylinders } => format!(
            "Über der Grenze: Zylinder {}. Bei so einem Leck reichen neue Dichtungen allein nicht.",
            numbers(cylinders)
        ),
        Reason::NotHeard { cylinders } => format!(
            "Luft geht verloren, und niemand hat notiert, wo sie zu hören ist: Zylinder {}.",
            numbers(cylinders)
        ),
    }
}

fn finding(figures: Figures, line: &FindingLine) -> String {
    let length = |mm: Option<f64>| units::length(mm.unwrap_or_default(), figures);
    let what = match line.kind {
        FindingName::ScoredStem => "riefiger Schaft".to_owned(),
        FindingName::BrokenSpring => "gebrochene Feder".to_owned(),
        FindingName::DamagedGroove => "beschädigte Keilnut".to_owned(),
        FindingName::ValveFell => "Ventil in den Zylinder gefallen".to_owned(),
        FindingName::WornGuide => match line.clearance_mm {
            Some(_) => format!(
                "verschlissene Führung: Kippspiel {} am Schaftende, Spiel {}",
                length(line.rock_mm),
                length(line.clearance_mm)
            ),
            None => format!(
                "verschlissene Führung: Kippspiel {} am Schaftende; {}",
                length(line.rock_mm),
                RECORD_DE.clearance_unknown
            ),
        },
        FindingName::ShortSpring => format!("kurze Feder: {}", length(line.length_mm)),
        FindingName::SealTorn => match line.missing_pieces {
            None | Some(0) => "alte Dichtung gerissen, alle Stücke da".to_owned(),
            Some(1) => "alte Dichtung gerissen, 1 Stück fehlte".to_owned(),
            Some(n) => format!("alte Dichtung gerissen, {n} Stücke fehlten"),
        },
        // Journals of before may hold one without a word, and a line says something.
        FindingName::Other if line.text.is_empty() => super::DE.other_finding.to_owned(),
        FindingName::Other => String::new(),
    };
    match (what.is_empty(), line.text.is_empty()) {
        (true, _) => line.text.clone(),
        (false, true) => what,
        (false, false) => format!("{what}. {}", line.text),
    }
}

fn ending(words: &Words, drop: &DropLine, at: &dyn Fn(Stamp) -> String) -> String {
    match &drop.ending {
        Ending::Adrift => "Noch vermisst.".into(),
        Ending::Found { found_at, to, by } => format!(
            "Gefunden: {}; abgelegt: {}. {}, {}.",
            words.search_place(*found_at),
            words.place(*to),
            by.who,
            at(by.at)
        ),
        Ending::Unfound {
            places,
            first,
            second,
        } => {
            let places: Vec<&str> = places.iter().map(|p| words.search_place(*p)).collect();
            format!(
                "NICHT GEFUNDEN. Gesucht: {}. Unterschrieben von {} und {second}, {}. Es kann noch im Motor sein.",
                places.join("; "),
                first.who,
                at(first.at)
            )
        }
    }
}

fn signed_for(words: &Words, line: &SignatureLine) -> String {
    let bank = || words.bank_n(line.bank.as_deref().unwrap_or_default());
    match line.signed_for {
        SignedFor::TakenOver => "Übernahme des Platzes".into(),
        SignedFor::ForemanAgreed => format!(
            "über der Grenze gesehen, es geht weiter: {}",
            words.cylinder_n(line.cylinder.unwrap_or_default())
        ),
        SignedFor::BlindCount => "Blindzählung".into(),
        SignedFor::BankClosed => format!("Haube drauf: {}", bank()),
        SignedFor::SearchFirst => "gesucht, nicht gefunden (erste Person)".into(),
        SignedFor::SearchSecond => "gesucht, nicht gefunden (zweite Person)".into(),
        SignedFor::ConflictResolved => "Widerspruch geklärt".into(),
        SignedFor::ConflictSecond => "Widerspruch geklärt (zweite Person)".into(),
        SignedFor::TakenBack => "etwas zurückgenommen".into(),
        SignedFor::JobClosed => "Arbeit abgeschlossen".into(),
        SignedFor::JobStopped => "Arbeit abgebrochen".into(),
    }
}

fn event_name(event: &Event) -> &'static str {
    match event {
        Event::JobOpened(_) => "Arbeit begonnen",
        Event::TakenOver { .. } => "Platz übernommen",
        Event::Paused { .. } => "Arbeit ruht",
        Event::Resumed {} => "Arbeit geht weiter",
        Event::Noted { .. } => "Notiz",
        Event::HandedOver { .. } => "an anderes Tablet übergeben",
        Event::ConflictResolved { .. } => "Widerspruch geklärt",
        Event::Sealed(_) => "vom Tablet versiegelt",
        Event::Withdrawn { .. } => "etwas zurückgenommen",
        Event::JobClosed { .. } => "Arbeit abgeschlossen",
        Event::JobStopped { .. } => "Arbeit abgebrochen",
        Event::TakeInNoted(_) => "Annahme",
        Event::OilToppedUp { .. } => "Öl nachgefüllt",
        Event::LeakRead { .. } => "Druckverlust gemessen",
        Event::ForemanAgreed { .. } => "Meister einverstanden",
        Event::BreakawayMeasured { .. } => "Losbrechmoment",
        Event::StepSeen { .. } => "Schritt gesehen",
        Event::CautionSeen { .. } => "Warnung bestätigt",
        Event::FindingNoted(_) => "Befund",
        Event::PictureAdded(_) => "Bild",
        Event::EnteredFromPaper(_) => "vom Papier eingegeben",
        Event::FollowedUp { .. } => "danach gesehen",
        Event::KitCounted { .. } => "Satz eingezählt",
        Event::StockIssued { .. } => "vom Lager ausgegeben",
        Event::StockReturned { .. } => "zurück ins Lager",
        Event::TakenFromStock { .. } => "neu aus dem Vorrat in die Schale",
        Event::PutAway { .. } => "weggelegt",
        Event::PutAboard { .. } => "an Bord gebracht",
        Event::TakenOff { .. } => "von Bord genommen",
        Event::PartUsed { .. } => "Teil verbaut",
        Event::PartReplaced { .. } => "Teil ersetzt",
        Event::PartDropped { .. } => "Teil gefallen",
        Event::PartFound { .. } => "Teil gefunden",
        Event::SearchSigned { .. } => "Suche unterschrieben",
        Event::BlindCount { .. } => "Blindzählung",
        Event::CoverOff { .. } => "Haube ab",
        Event::BankClosed { .. } => "Bank geschlossen",
        Event::PlugOut { .. } => "Kerze raus",
        Event::PlugIn { .. } => "Kerze rein",
        Event::VentedCoverIn { .. } => "Lüftdeckel rein",
        Event::VentedCoverOut { .. } => "Lüftdeckel raus",
        Event::HoseIn { .. } => "Schlauch rein",
        Event::HoseOut { .. } => "Schlauch raus",
        Event::WrenchOn {} => "Schlüssel dran",
        Event::WrenchOff {} => "Schlüssel ab",
        Event::CrankTurned { .. } => "Kurbelwelle gedreht",
        Event::AirOn { .. } => "Luft an",
        Event::AirOff { .. } => "Luft ab",
        Event::AirReadAnew { .. } => "Regler neu abgelesen",
        Event::AirLost { .. } => "Luft abgefallen",
        Event::PartsSwapped { .. } => "Teile vertauscht",
        Event::SwapMended { .. } => "vertauschte Teile richtig gelegt",
        Event::HoldDeclared { .. } => "mechanischer Halt rein",
        Event::HoldReleased { .. } => "mechanischer Halt raus",
        Event::StageSeen { .. } => "Stufe",
        Event::CylinderPutOff { .. } => "Zylinder zurückgestellt",
        Event::CylinderWanted { .. } => "Zylinder gewünscht",
    }
}

#[expect(clippy::too_many_lines, reason = "a table: one sentence a point")]
fn open_point(words: &Words, figures: Figures, point: &OpenPoint) -> String {
    match point {
        OpenPoint::Conflicts { count: 1 } => "Ein Widerspruch zwischen Tablets ist offen.".into(),
        OpenPoint::Conflicts { count } => {
            format!("{count} Widersprüche zwischen Tablets sind offen.")
        }
        OpenPoint::PaperNotWhole { came, lines } => format!(
            "Eine Eingabe vom Papier ist nicht vollständig: {came} von {lines} Zeilen, oder nicht wie unterschrieben."
        ),
        OpenPoint::ValveUnlocked { valve, stage } => format!(
            "OHNE KEILE: {} ({}). Nur Luft oder ein mechanischer Halt hält es oben.",
            words.valve(*valve),
            words.stage(*stage)
        ),
        OpenPoint::ValveOpen { valve, stage } => format!(
            "Begonnen und nicht geprüft: {} ({}).",
            words.valve(*valve),
            words.stage(*stage)
        ),
        OpenPoint::ValvesUntouched { bank, count } => {
            format!("{}: {count} Ventile nicht begonnen.", words.bank_n(bank))
        }
        OpenPoint::AirOn { cylinder, bar } => format!(
            "LUFT IST AN: {}, {}.",
            words.cylinder_n(*cylinder),
            units::pressure_at_a_glance(*bar, figures)
        ),
        OpenPoint::HoldIn { cylinder, hold } => format!(
            "Ein mechanischer Halt ist drin: {}, {}.",
            words.cylinder_n(*cylinder),
            words.hold(*hold)
        ),
        OpenPoint::Adrift { item, count } => {
            format!("VERMISST: {}.", words.items_n(item, *count))
        }
        OpenPoint::Unfound { item, count } => format!(
            "Gesucht, unterschrieben und nie gefunden: {}. Es kann im Motor sein.",
            words.items_n(item, *count)
        ),
        OpenPoint::Loose { item, count } => {
            format!("Lose in der Schale: {}.", words.items_n(item, *count))
        }
        OpenPoint::Aboard { bank, item, count } => format!(
            "Noch an Bord, {}: {}.",
            words.bank_n(bank),
            words.items_n(item, *count)
        ),
        OpenPoint::WrenchOn => "Der Schlüssel ist an der Kurbelwelle.".into(),
        OpenPoint::PlugsOut { cylinders } => {
            format!("Kerzen sind raus: Zylinder {}.", numbers(cylinders))
        }
        OpenPoint::BankOpen { bank } => format!("{} ist nicht geschlossen.", words.bank_n(bank)),
        OpenPoint::ForemanNotAsked {
            cylinder,
            loss_percent,
        } => format!(
            "{} verliert {}, und kein Meister hat es gesehen.",
            words.cylinder_n(*cylinder),
            words.percent(*loss_percent)
        ),
        OpenPoint::StepNotSeen { step } => format!("Nicht gesehen: {}.", words.step(*step)),
        OpenPoint::LeakNotRead { when, cylinders } => format!(
            "Kein Druckverlust {} der Arbeit gemessen: Zylinder {}.",
            match when {
                Reading::Before => "vor",
                Reading::After => "nach",
            },
            numbers(cylinders)
        ),
        OpenPoint::StockLeft { item, count } => {
            format!("Zurück ins Lager: {}.", words.items_n(item, *count))
        }
    }
}

fn oil_rate(words: &Words, figures: Figures, rate: &OilRate) -> String {
    let figure = |value: f64| words.figure(value, 2);
    let [(used, unit), (too, other)] = oil_ways(&RECORD_DE, figures.system, rate);
    let range = match used.interval {
        Some((low, high)) => format!(" (95-%-Bereich {} bis {})", figure(low), figure(high)),
        None => " (zwei Nachfüllungen: kein Bereich angebbar)".to_owned(),
    };
    format!(
        "{} {unit}{range}, {} {other}, aus {} Nachfüllungen",
        figure(used.value),
        figure(too.value),
        rate.top_ups
    )
}
