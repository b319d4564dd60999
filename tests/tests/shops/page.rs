//! The page of several shops in a browser.

use std::fs;
use std::path::Path;

use serde_json::Value;
use trayzero::cli::board::BoardArgs;

use super::Region;
use super::browser::Browser;

/// Every text that is wider than the window.
const TOO_WIDE: &str = "[...document.querySelectorAll('body *')].filter(e => !e.closest('svg') && \
    e.getClientRects().length && e.getBoundingClientRect().right > innerWidth + 1).length";

#[test]
fn the_page_names_the_shops_that_are_missing_and_mixes_up_no_two_jobs() {
    let region = Region::new();
    let page = region.scratch.path().join("region.html");
    let args = BoardArgs {
        html: Some(page.clone()),
        ..region.args()
    };
    let (all, text, _) = Region::board(&args);
    assert!(!all && text.is_empty());
    let html = fs::read_to_string(&page).unwrap();
    let root = region.scratch.path().to_str().unwrap();
    assert!(
        !html.contains(root),
        "no place of the machine that has read it"
    );
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/pictures/shops");
    fs::create_dir_all(&folder).unwrap();
    let mut browser = Browser::start();
    let list =
        |value: &Value| -> Vec<String> { serde_json::from_str(value.as_str().unwrap()).unwrap() };
    for (size, is_dark) in [((390, 844), false), ((1280, 800), true)] {
        browser.show(&format!("file://{}", page.display()), size, is_dark);
        assert_eq!(browser.value(TOO_WIDE), 0, "{size:?}");
        let lines = "JSON.stringify([...document.querySelectorAll('section[aria-labelledby=shops] li')].map(e => e.innerText.trim()))";
        let lines = list(&browser.value(lines));
        assert_eq!(
            lines.len(),
            2 + usize::from(region.mute.is_some()),
            "{lines:?}"
        );
        let says =
            |name: &str, why: &str| lines.iter().any(|l| l.starts_with(name) && l.contains(why));
        assert!(says("Gone", "it cannot be read"), "{lines:?}");
        assert!(says("Stranger", "another shop"), "{lines:?}");
        let read =
            browser.value("document.querySelector('section[aria-labelledby=shops] p').innerText");
        let all = 5 + usize::from(region.mute.is_some());
        assert_eq!(read, format!("3 of {all} shops: North, South, East"));
        let titles = "JSON.stringify([...document.querySelectorAll('.tile h3')].map(e => e.innerText.trim()))";
        let mut titles = list(&browser.value(titles));
        titles.sort();
        let expected = [
            "East · Bay 1",
            "East · Bay 8",
            "North · Bay 13",
            "North · Bay 3",
            "North · Bay 5",
            "South · Bay 18",
            "South · Bay 3",
            "South · Bay 5",
        ];
        assert_eq!(titles, expected);
        // Every link of what is asked leads to the tile of its own shop.
        let led = "[...document.querySelectorAll('section[aria-labelledby=asked] li a')].every(a => \
            document.querySelectorAll('[id=\"' + a.hash.slice(1) + '\"]').length === 1 && \
            document.getElementById(a.hash.slice(1)).querySelector('h3').innerText.trim() === a.innerText.trim())";
        assert_eq!(browser.value(led), true);
        let links = browser
            .value("document.querySelectorAll('section[aria-labelledby=asked] li a').length");
        assert!(links.as_u64().unwrap() >= 4, "{links}");
        let picture = folder.join(format!("page-{}.png", size.0));
        fs::write(picture, browser.picture()).unwrap();
    }
    assert!(browser.said.is_empty(), "{:?}", browser.said);
}
