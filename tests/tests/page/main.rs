//! The page of the board: in a browser at the width of a telephone, a tablet and a desk, in
//! both themes; looked at by an accessibility checker; with hostile names; old after its
//! time; and kept in the shop folder by whichever tablet is there.
//!
//! The checker is axe-core (Deque Systems, MPL-2.0, the npm registry), fetched by
//! `tests/axe` and used here alone.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod browser;
mod kept;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use browser::Browser;
use trayzero::data::settings::Settings;
use trayzero::data::store::Stamp;
use trayzero::desk::page_keeper::page_of;
use trayzero::shop::Card;
use trayzero::ui::page::OLD_AFTER_MIN;
use trayzero::ui::words::Language;
use trayzero_tests::yard;

const SIZES: [(u32, u32); 3] = [(390, 844), (820, 1180), (1280, 800)];
const NOW: Stamp = Stamp {
    at_ms: yard::NOW_MS,
    offset_min: yard::OFFSET_MIN,
};

fn folder() -> PathBuf {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/pictures/page");
    std::fs::create_dir_all(&path).unwrap();
    path
}

/// The exit of `tests/axe` where the registry is not reached.
const NOT_REACHED: i32 = 75;

/// The checker's source; none, and it is said, on a machine that does not reach it.
fn axe() -> Option<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let fetched = Command::new("bash")
        .arg("tests/axe")
        .current_dir(&root)
        .output()
        .unwrap();
    let fault = String::from_utf8_lossy(&fetched.stderr);
    if fetched.status.code() == Some(NOT_REACHED) {
        println!("NOT RUN: the accessibility checker cannot be fetched: {fault}");
        return None;
    }
    assert!(fetched.status.success(), "{fault}");
    let path = String::from_utf8(fetched.stdout).unwrap();
    Some(std::fs::read_to_string(root.join(path.trim())).unwrap())
}

/// Writes a page, and gives where it lies as an address.
fn page(dir: &Path, name: &str, cards: &[Arc<Card>], settings: &Settings) -> String {
    let path = dir.join(format!("{name}.html"));
    std::fs::write(&path, page_of(cards, settings.into(), NOW, None)).unwrap();
    format!("file://{}", path.display())
}

/// What does not fit: wider than the window, or than its own tile.
const TOO_WIDE: &str = "JSON.stringify([...document.querySelectorAll('body, body *')]\
    .filter(e => !e.closest('svg') && e.getClientRects().length && \
        (e.getBoundingClientRect().right > innerWidth + 1 || e.getBoundingClientRect().left < -1))\
    .map(e => e.tagName + '.' + e.className + ' ' + e.getBoundingClientRect().right)\
    .concat(document.documentElement.scrollWidth > innerWidth ? ['the page scrolls sideways'] : []))";

/// What axe-core finds, each with where.
const AXE: &str = "axe.run(document).then(r => JSON.stringify(r.violations.map(v => \
    v.id + ': ' + v.help + ' ' + v.nodes.map(n => n.html + ' ' + n.failureSummary).join(' | '))))";

fn list(value: &serde_json::Value) -> Vec<String> {
    serde_json::from_str(value.as_str().unwrap()).unwrap()
}

fn settings(language: Language, with_names: bool) -> Settings {
    Settings {
        language,
        board_page_names: with_names,
        ..Settings::default()
    }
}

#[test]
fn it_is_whole_and_open_to_everybody_at_every_width_in_both_themes_and_languages() {
    let scratch = tempfile::tempdir().unwrap();
    let cards = yard::cards(&yard::bays(12), &yard::pace());
    let (mut browser, axe) = (Browser::start(), axe());
    let mut checks = 0;
    for language in Language::ALL {
        let name = language.own_name();
        let url = page(scratch.path(), name, &cards, &settings(language, true));
        for (size, is_dark) in SIZES.iter().flat_map(|s| [(*s, false), (*s, true)]) {
            browser.show(&url, size, is_dark);
            let wide = list(&browser.value(TOO_WIDE));
            assert!(wide.is_empty(), "{name} at {size:?}: {wide:#?}");
            let tone = if is_dark { "night" } else { "light" };
            let shot = folder().join(format!("{}-{name}-{tone}.png", size.0));
            std::fs::write(shot, browser.picture()).unwrap();
            if let Some(axe) = &axe {
                browser.value(axe);
                let rules = browser.value("axe.run(document).then(r => r.passes.length)");
                assert!(rules.as_u64().unwrap() > 20, "axe has looked: {rules}");
                let found = list(&browser.value(AXE));
                assert!(found.is_empty(), "{name} at {size:?}: {found:#?}");
            }
            let tiles = browser.value("document.querySelectorAll('.tile').length");
            assert_eq!(tiles, 12);
            checks += 1;
        }
    }
    let foreign: Vec<_> = browser
        .asked_for
        .iter()
        .filter(|u| !u.starts_with("file://"))
        .collect();
    assert!(foreign.is_empty(), "{foreign:?}");
    assert_eq!(browser.asked_for.len(), checks, "each page is one file");
    println!("page: {checks} looks");
}

#[test]
fn it_is_loudly_old_after_its_time_and_says_when_it_was_made() {
    let scratch = tempfile::tempdir().unwrap();
    let cards = yard::cards(&yard::bays(4), &yard::pace());
    let url = page(
        scratch.path(),
        "old",
        &cards,
        &settings(Language::English, false),
    );
    let mut browser = Browser::start();
    browser.show(&url, SIZES[0], false);
    let says = browser.value("document.querySelector('.made').innerText");
    let says = says.as_str().unwrap().to_owned();
    assert!(
        says.contains("2026-11-26 11:40") && says.contains("2026-11-26 11:45"),
        "{says}"
    );
    let seen = "(() => { const e = document.querySelector('.old'), s = getComputedStyle(e), \
        b = e.getBoundingClientRect(); \
        return s.visibility === 'visible' && b.height > 40 && b.top >= 0 && b.bottom <= innerHeight })()";
    let at = |seconds: u32| {
        format!(
            "document.getAnimations().forEach(a => {{ a.pause(); a.currentTime = {seconds} * 1000 }}); {seen}"
        )
    };
    let limit = OLD_AFTER_MIN * 60;
    assert_eq!(browser.value(seen), false, "it is new");
    assert_eq!(browser.value(&at(limit - 1)), false, "still");
    assert_eq!(browser.value(&at(limit + 1)), true, "old");
    std::fs::write(folder().join("old.png"), browser.picture()).unwrap();
    let names = browser.value("document.body.innerText");
    let names = names.as_str().unwrap();
    assert!(
        !names.contains("Noor") && !names.contains("Ilka"),
        "no names of people: {names}"
    );
}

#[test]
fn hostile_names_run_nothing_turn_nothing_round_and_overflow_nothing() {
    let scratch = tempfile::tempdir().unwrap();
    let hostile = [
        "<script>document.title='owned'</script>".to_owned(),
        "</title></style><img src=x onerror=\"document.title='owned'\">".to_owned(),
        "\"><svg onload=document.title='owned'>".to_owned(),
        "\u{202e}\u{2067}evil\u{200f} ".to_owned(),
        "W".repeat(10_000),
        "a b ".repeat(2_500),
        "\u{0}\u{7}\u{1b}[31m\r\n\t".to_owned(),
        "{{7*7}} ${7*7} &lt;b&gt; ]]> -->".to_owned(),
    ];
    let mut cards = yard::cards(&yard::bays(20), &yard::pace());
    for (at, card) in cards.iter_mut().enumerate() {
        let card = Arc::make_mut(card);
        let name = &hostile[at % hostile.len()];
        card.summary.bay.clone_from(name);
        card.summary.vehicle = hostile[(at + 3) % hostile.len()].clone();
        card.summary.technician.clone_from(name);
    }
    let url = page(
        scratch.path(),
        "hostile",
        &cards,
        &settings(Language::English, true),
    );
    let mut browser = Browser::start();
    for size in SIZES {
        browser.show(&url, size, false);
        let title = browser.value("document.title");
        assert!(
            title.as_str().unwrap().starts_with("Board · 2026"),
            "{title}"
        );
        let strange = browser.value("document.querySelectorAll('script, img, iframe, object, embed, [onload], [onerror]').length");
        assert_eq!(strange, 0);
        assert_eq!(
            browser.value("document.querySelectorAll('.tile').length"),
            20
        );
        let wide = list(&browser.value(TOO_WIDE));
        assert!(wide.is_empty(), "{size:?}: {wide:#?}");
        // Each name runs its own way; the page keeps its own.
        let left = "[...document.querySelectorAll('.tile .range')].every(e => getComputedStyle(e).direction === 'ltr')";
        assert_eq!(browser.value(left), true);
        let isolated = "[...document.querySelectorAll('.tile h3 bdi, .tile .vehicle bdi')].length";
        assert_eq!(browser.value(isolated), 40);
        let high = "Math.max(...[...document.querySelectorAll('.tile')].map(e => e.getBoundingClientRect().height))";
        let high = browser.value(high).as_f64().unwrap();
        assert!(high < 900.0, "a tile is {high} high");
        std::fs::write(
            folder().join(format!("hostile-{}.png", size.0)),
            browser.picture(),
        )
        .unwrap();
    }
    let said = &browser.said;
    assert!(
        said.is_empty(),
        "nothing ran and nothing was refused: {said:#?}"
    );
    assert!(
        browser.asked_for.iter().all(|u| u.starts_with("file://")),
        "{:?}",
        browser.asked_for
    );
}
