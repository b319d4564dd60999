//! The sections of the record, in the order they are read.

mod close_up;
mod conflicts;
mod crew;
mod follow_up;
mod from_paper;
mod head;
mod parts;
mod pictures;
mod readings;
mod take_in;
mod time_spent;
mod valves;

use super::Context;
use super::pages::Pages;

/// Lays out the whole record.
pub(super) fn tell(pages: &mut Pages, context: &Context) {
    head::tell(pages, context);
    take_in::tell(pages, context);
    follow_up::tell(pages, context);
    readings::tell(pages, context);
    from_paper::tell(pages, context);
    valves::tell(pages, context);
    time_spent::tell(pages, context);
    parts::tell(pages, context);
    close_up::tell(pages, context);
    crew::tell(pages, context);
    conflicts::tell(pages, context);
    pictures::tell(pages, context);
}
