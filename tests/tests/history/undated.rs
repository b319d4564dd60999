//! What ended by a wrong clock is in no week, and is told as such.

use serde_json::Value;
use trayzero::cli::history;
use trayzero::data::store::Stamp;

use crate::shop;

const DAY_MS: i64 = 86_400_000;

fn told(now: Stamp) -> Value {
    let folder = tempfile::tempdir().unwrap();
    shop::fill(folder.path(), 24);
    let args = history::HistoryArgs {
        folder: folder.path().to_owned(),
        shop_key: None,
        json: true,
    };
    let mut out = Vec::new();
    history::run_at(&args, now, &mut out).unwrap();
    serde_json::from_slice(&out).unwrap()
}

#[test]
fn a_job_that_ends_years_ahead_is_in_no_week_and_counted_apart() {
    let in_weeks = |told: &Value| {
        let weeks = told["weeks"].as_array().unwrap().iter();
        let ended =
            |week: &Value| week["closed"].as_u64().unwrap() + week["stopped"].as_u64().unwrap();
        weeks.map(ended).sum::<u64>()
    };
    let now = told(shop::NOW);
    assert_eq!((in_weeks(&now), &now["undated"]), (22, &Value::from(0)));
    // Looked at from before the first of them, all lie ahead.
    let before = Stamp {
        at_ms: shop::NOW.at_ms - 1_000 * DAY_MS,
        ..shop::NOW
    };
    let before = told(before);
    assert_eq!(
        (in_weeks(&before), &before["undated"]),
        (0, &Value::from(22))
    );
}
