//! The rules of a layout that a file can break, each as a sentence about the field.

use thiserror::Error;

/// A rule that a field breaks. Its text is English; other languages say it by its case.
/// A `field` is a path such as `banks[1].cylinders[0]`.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // The texts say what each is.
pub enum LayoutRule {
    #[error("wants the number {0}")]
    TheNumber(u64),
    #[error("wants a whole number from {least} to {most}")]
    WholeNumber { least: u64, most: u64 },
    #[error("wants a number from {least} to {most}")]
    Number { least: f64, most: f64 },
    #[error("wants a number above 0, up to {0}")]
    NumberAbove0(f64),
    #[error("wants a text of {least} to {most} characters on one line, without blanks at its ends")]
    Line { least: usize, most: usize },
    #[error("wants a text of up to {0} characters, without control characters")]
    Text(usize),
    #[error("wants true or false")]
    TrueOrFalse,
    #[error("wants one of \"{}\"", .0.join("\", \""))]
    OneOf(&'static [&'static str]),
    #[error(
        "wants a piece of the tool kit, not a part of the engine: one of {words}, or a name of \
         the shop's own of 1 to {most} characters"
    )]
    KitItem { words: String, most: usize },
    #[error("wants a side and a place, such as \"intake 1\" or \"exhaust 2\"")]
    Valve,
    #[error("wants a list of up to {0} entries")]
    ListUpTo(usize),
    #[error("wants a list of {least} to {most} entries")]
    List { least: usize, most: usize },
    #[error("wants an object with the fields {0}")]
    Object(String),
    #[error("is missing; it {0}")]
    Missing(Box<LayoutRule>),
    #[error("is no field of a layout; allowed here: {0}")]
    NoField(String),
    #[error("is written twice: keep one")]
    WrittenTwice,
    #[error("is the name of {field} already; each bank has its own")]
    BankNameAgain { field: String },
    #[error("stands at {field} already; each cylinder stands once")]
    CylinderAgain { field: String },
    #[error("an engine has 1 to {0} cylinders in all")]
    TooManyCylinders(usize),
    #[error("is a cylinder of no bank")]
    CylinderOfNoBank,
    #[error("fires twice; the order names each cylinder once")]
    FiresTwice,
    #[error("leaves out cylinder {0}; the order names each cylinder once")]
    LeavesOut(String),
    #[error("wants one angle for each of the {0} firings")]
    AngleForEach(usize),
    #[error("sums to {0} degrees; the firings of one cycle sum to 720")]
    SumIsNot720(f64),
    #[error("wants more than half the stroke, {0}")]
    MoreThanHalfStroke(f64),
    #[error("wants less than the bore, {0}")]
    LessThanBore(f64),
    #[error("wants less than the seated height, {0}")]
    LessThanSeatedHeight(f64),
    #[error("does not fit: the spring is solid after {0} mm")]
    SolidBefore(f64),
    #[error("has an entry already; write all its offsets into one")]
    PositionAgain,
    #[error("stands in this list already")]
    InListAgain,
    #[error("a cylinder has {most} {side} valves")]
    NoSuchValve { most: u64, side: &'static str },
    #[error("has an entry for cylinder {0} already")]
    ValveAgain(u8),
    #[error("is no bank; the banks are \"{}\"", .0.join("\", \""))]
    NoBank(Vec<String>),
    #[error("stands in the kit already; add the counts up in one line")]
    KitAgain,
    #[error("goes with a bucket follower alone")]
    BucketAlone,
    #[error("has {0} more faults")]
    MoreFaults(usize),
    #[error("is larger than a layout may be, {0} bytes")]
    TooLarge(usize),
    #[error("is empty; a layout is one JSON object")]
    Empty,
    #[error("is no JSON object; a layout is one, with the fields format, name, banks and so on")]
    NoObject,
    #[error(
        "was written by a newer program; this one reads format {0}. Nothing is changed in the file"
    )]
    Newer(u64),
    #[error("ends too early: {0}")]
    EndsEarly(String),
    #[error("is no layout: {why}; a layout needs no more than {deepest}")]
    TooDeep { why: String, deepest: usize },
    #[error("is no JSON: {0}")]
    NoJson(String),
    #[error("cannot be read: {0}")]
    Unreadable(String),
    #[error("cannot be written: {0}")]
    Unwritable(String),
}
