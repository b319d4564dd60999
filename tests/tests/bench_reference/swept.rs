//! Swept volume against published engines.

use trayzero_core::bench::swept_volume;
use uom::si::f64::Length;
use uom::si::length::inch;
use uom::si::volume::cubic_inch;

/// One engine of the table and how many rows of the source it stands for.
struct Row {
    figures: String,
    cylinders: u32,
    bore_in: f64,
    stroke_in: f64,
    size_cu_in: f64,
    rows: u32,
}

/// UCI Machine Learning Repository, "Automobile" (J. Schlimmer, 1987; CC BY 4.0).
fn table() -> Vec<Row> {
    let text = include_str!("../../reference/swept_volume.csv");
    let row = |line: &str| {
        let fields: Vec<&str> = line.split(',').collect();
        Row {
            figures: line.to_owned(),
            cylinders: fields[0].parse().unwrap(),
            bore_in: fields[1].parse().unwrap(),
            stroke_in: fields[2].parse().unwrap(),
            size_cu_in: fields[3].parse().unwrap(),
            rows: fields[4].parse().unwrap(),
        }
    };
    text.lines().skip(1).map(row).collect()
}

/// The rest are slips of the source: a bore or a stroke of another engine. Listed by
/// cylinders, bore, stroke, size and rows.
const SLIPS: [&str; 16] = [
    "4,2.54,2.07,121.0,1",
    "4,2.91,3.07,79.0,1",
    "4,2.97,3.23,92.0,3",
    "4,2.97,3.23,98.0,1",
    "4,2.99,3.47,103.0,1",
    "4,3.05,3.03,92.0,6",
    "4,3.08,3.15,91.0,1",
    "4,3.15,3.29,97.0,9",
    "4,3.24,3.08,98.0,2",
    "4,3.27,3.35,110.0,3",
    "4,3.46,2.19,120.0,2",
    "4,3.46,3.9,132.0,2",
    "4,3.47,2.68,130.0,2",
    "6,2.68,3.47,152.0,1",
    "6,3.27,3.35,161.0,1",
    "8,3.94,3.11,203.0,1",
];

#[test]
fn swept_volume_agrees_with_164_of_201_published_rows_within_2_percent() {
    let table = table();
    assert_eq!(table.len(), 67);
    assert_eq!(table.iter().map(|r| r.rows).sum::<u32>(), 201);
    let agrees = |row: &&Row| {
        let of = Length::new::<inch>;
        let volume = swept_volume(of(row.bore_in), of(row.stroke_in), row.cylinders).unwrap();
        (volume.get::<cubic_inch>() / row.size_cu_in - 1.0).abs() <= 0.02
    };
    let (good, slips): (Vec<&Row>, Vec<&Row>) = table.iter().partition(agrees);
    assert_eq!(good.iter().map(|r| r.rows).sum::<u32>(), 164);
    let slips: Vec<&str> = slips.iter().map(|r| r.figures.as_str()).collect();
    assert_eq!(slips, SLIPS);
}

#[test]
fn an_engine_without_cylinders_or_bore_has_no_swept_volume() {
    let of = Length::new::<inch>;
    assert!(swept_volume(of(3.0), of(3.0), 0).is_err());
    assert!(swept_volume(of(0.0), of(3.0), 4).is_err());
    assert!(swept_volume(of(3.0), of(-3.0), 4).is_err());
}
