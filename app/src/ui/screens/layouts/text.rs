//! A layout as it is typed: every figure a text that stays as it was typed.

use trayzero_core::engine::{Follower, Guide, Layout, SpringData, Tops};

use super::numbers::{shown, shown_list};

/// One bank.
#[derive(Clone, Debug, Default, PartialEq)]
#[allow(missing_docs)]
pub struct BankText {
    pub name: String,
    pub cylinders: String,
}

/// A line of the order list.
#[derive(Clone, Debug, Default, PartialEq)]
#[allow(missing_docs)]
pub struct OrderText {
    pub item: String,
    pub count: String,
}

/// A remark or an adaptor: what is said of one valve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ValveText {
    /// Cylinder number.
    pub cylinder: String,
    /// Valve within its cylinder, as in files, such as `intake 1`.
    pub valve: String,
    /// The remark, or the adaptor's name.
    pub text: String,
}

/// A cylinder that is worked off its top.
#[derive(Clone, Debug, Default, PartialEq)]
#[allow(missing_docs)]
pub struct PositionText {
    pub cylinder: String,
    pub offsets: String,
    pub why: String,
}

/// A line of the kit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KitText {
    /// The item's word, as in files.
    pub item: String,
    /// How many.
    pub count: String,
    /// Index of the bank it belongs to, so that it follows a bank that is renamed.
    pub bank: Option<usize>,
}

/// A whole layout as it is typed. Lengths in millimetres, pressure in bar, torque in
/// newton metres, forces in newton, unless a unit is written.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct LayoutText {
    pub name: String,
    pub note: String,
    pub banks: Vec<BankText>,
    pub bank_angle: String,
    pub firing_order: String,
    /// Empty where the engine fires evenly.
    pub firing_intervals: String,
    pub may_turn_back: bool,
    pub tops: Tops,
    /// Minutes of setting a cylinder up, as the file has them.
    pub cylinder_setup: Option<f64>,
    pub intake_valves: u32,
    pub exhaust_valves: u32,
    pub locks: u32,
    pub springs: u32,
    pub follower: Follower,
    /// Shims of one bucket, where the file says.
    pub shims: Option<u8>,
    pub bore: String,
    pub stroke: String,
    pub rod: String,
    /// Empty where it is not known.
    pub intake_seat: String,
    /// Empty where it is not known.
    pub exhaust_seat: String,
    pub breakaway: String,
    pub breakaway_measured: bool,
    pub rating: String,
    pub push: String,
    pub has_spring: bool,
    /// Seated load, rate, seated height, solid height, travel to the locks.
    pub spring: [String; 5],
    /// Empty where it is not known.
    pub rim: String,
    pub has_guide: bool,
    /// Length, height of the tip above.
    pub guide: [String; 2],
    pub order_list: Vec<OrderText>,
    pub remarks: Vec<ValveText>,
    pub positions: Vec<PositionText>,
    pub adaptors: Vec<ValveText>,
    pub kit: Vec<KitText>,
    /// One turn of the crank, changing the bank, changing the adaptor; minutes.
    pub handling: [String; 3],
}

impl LayoutText {
    /// A plain four-cylinder to begin with. What has to be measured on the engine or
    /// looked up stands empty. The times are common practice, no source.
    pub fn template(rating_bar: f64, decimal: &str) -> Self {
        let text = str::to_owned;
        Self {
            name: String::new(),
            note: String::new(),
            banks: vec![BankText {
                name: text("A"),
                cylinders: text("1 2 3 4"),
            }],
            bank_angle: text("0"),
            firing_order: text("1 3 4 2"),
            firing_intervals: String::new(),
            may_turn_back: false,
            tops: Tops::default(),
            cylinder_setup: None,
            intake_valves: 2,
            exhaust_valves: 2,
            locks: 2,
            springs: 1,
            follower: Follower::Finger,
            shims: None,
            bore: String::new(),
            stroke: String::new(),
            rod: String::new(),
            intake_seat: String::new(),
            exhaust_seat: String::new(),
            breakaway: String::new(),
            breakaway_measured: false,
            rating: shown(rating_bar, decimal),
            push: text("60"),
            has_spring: false,
            spring: Default::default(),
            rim: String::new(),
            has_guide: false,
            guide: Default::default(),
            order_list: Vec::new(),
            remarks: Vec::new(),
            positions: Vec::new(),
            adaptors: Vec::new(),
            kit: Vec::new(),
            handling: [text("4"), text("10"), shown(0.5, decimal)],
        }
    }

    /// A layout as it would be typed.
    pub fn of(layout: &Layout, decimal: &str) -> Self {
        let number = |value: f64| shown(value, decimal);
        let maybe = |value: Option<f64>| value.map_or_else(String::new, number);
        let handling = &layout.handling_min;
        Self {
            name: layout.name.clone(),
            note: layout.note.clone(),
            banks: banks(layout),
            bank_angle: number(layout.bank_angle_deg),
            firing_order: cylinders(&layout.firing_order),
            firing_intervals: layout
                .firing_intervals_deg
                .as_ref()
                .map_or_else(String::new, |all| shown_list(all, decimal)),
            may_turn_back: layout.may_turn_back,
            tops: layout.tops,
            cylinder_setup: layout.handling_min.cylinder_setup,
            intake_valves: layout.intake_valves.into(),
            exhaust_valves: layout.exhaust_valves.into(),
            locks: layout.locks_per_valve.into(),
            springs: layout.springs_per_valve.into(),
            follower: layout.follower,
            shims: layout.shims_per_valve,
            bore: number(layout.bore_mm),
            stroke: number(layout.stroke_mm),
            rod: number(layout.rod_mm),
            intake_seat: maybe(layout.intake_seat_mm),
            exhaust_seat: maybe(layout.exhaust_seat_mm),
            breakaway: number(layout.breakaway_torque_nm),
            breakaway_measured: layout.breakaway_measured,
            rating: number(layout.pressure_rating_bar),
            push: number(layout.fitting_push_n),
            has_spring: layout.spring.is_some(),
            spring: layout
                .spring
                .map_or_else(Default::default, |s| spring(s).map(number)),
            rim: maybe(layout.rim_diameter_mm),
            has_guide: layout.guide.is_some(),
            guide: layout
                .guide
                .map_or_else(Default::default, |g| guide(g).map(number)),
            order_list: orders(layout),
            remarks: remarks(layout),
            positions: positions(layout, decimal),
            adaptors: adaptors(layout),
            kit: kit(layout),
            handling: [
                handling.turn_360,
                handling.bank_change,
                handling.adaptor_change,
            ]
            .map(number),
        }
    }

    /// Takes a bank away. What the kit had for it is for the whole engine from then on.
    pub fn remove_bank(&mut self, index: usize) {
        if index >= self.banks.len() {
            return;
        }
        self.banks.remove(index);
        for line in &mut self.kit {
            line.bank = match line.bank {
                Some(bank) if bank == index => None,
                Some(bank) if bank > index => Some(bank - 1),
                other => other,
            };
        }
    }
}

fn cylinders(numbers: &[u8]) -> String {
    let words: Vec<String> = numbers.iter().map(u8::to_string).collect();
    words.join(" ")
}

fn banks(layout: &Layout) -> Vec<BankText> {
    let banks = layout.banks.iter().map(|bank| BankText {
        name: bank.name.clone(),
        cylinders: cylinders(&bank.cylinders),
    });
    banks.collect()
}

fn spring(s: SpringData) -> [f64; 5] {
    [
        s.seated_load_n,
        s.rate_n_per_mm,
        s.seated_height_mm,
        s.solid_height_mm,
        s.travel_to_locks_mm,
    ]
}

fn guide(g: Guide) -> [f64; 2] {
    [g.length_mm, g.tip_above_mm]
}

fn orders(layout: &Layout) -> Vec<OrderText> {
    let lines = layout.order_list.iter().flatten().map(|line| OrderText {
        item: line.item.clone(),
        count: line.count.to_string(),
    });
    lines.collect()
}

fn remarks(layout: &Layout) -> Vec<ValveText> {
    let lines = layout.remarks.iter().flatten().map(|remark| ValveText {
        cylinder: remark.cylinder.to_string(),
        valve: remark.valve.clone(),
        text: remark.text.clone(),
    });
    lines.collect()
}

fn positions(layout: &Layout, decimal: &str) -> Vec<PositionText> {
    let lines = layout
        .working_positions
        .iter()
        .map(|position| PositionText {
            cylinder: position.cylinder.to_string(),
            offsets: shown_list(&position.offsets_deg, decimal),
            why: position.why.clone(),
        });
    lines.collect()
}

fn adaptors(layout: &Layout) -> Vec<ValveText> {
    let lines = layout.adaptors.iter().map(|rule| ValveText {
        cylinder: rule.cylinder.to_string(),
        valve: rule.valve.clone(),
        text: rule.adaptor.clone(),
    });
    lines.collect()
}

fn kit(layout: &Layout) -> Vec<KitText> {
    let bank = |name: &String| layout.banks.iter().position(|b| b.name == *name);
    let lines = layout.kit.iter().map(|line| KitText {
        item: line.item.word().to_owned(),
        count: line.count.to_string(),
        bank: line.bank.as_ref().and_then(bank),
    });
    lines.collect()
}
