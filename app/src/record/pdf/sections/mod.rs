//! The sections of the record, in the order they are read.

mod close_up;
mod conflicts;
mod crew;
mod head;
mod parts;
mod readings;
mod take_in;
mod valves;

use super::Telling;
use super::sheet::Sheet;

/// Lays out the whole record.
pub(super) fn tell(sheet: &mut Sheet, telling: &Telling) {
    head::tell(sheet, telling);
    take_in::tell(sheet, telling);
    readings::tell(sheet, telling);
    valves::tell(sheet, telling);
    parts::tell(sheet, telling);
    close_up::tell(sheet, telling);
    crew::tell(sheet, telling);
    conflicts::tell(sheet, telling);
}
