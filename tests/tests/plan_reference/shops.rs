//! Simulated shops: how the minutes of valves come about, in eighteen kinds of shop. The
//! simulator shares nothing with the forecast and draws what the forecast does not assume.

use super::random::Random;

/// A valve as it was worked.
#[derive(Clone, Copy, Debug)]
pub struct SimValve {
    pub minutes: f64,
    pub exhaust: bool,
    pub opens_cylinder: bool,
    /// Stretches of work between nights.
    pub day: u16,
    pub hand: u16,
}

/// A job as it was worked: its engine and its valves in order.
#[derive(Clone, Debug)]
pub struct SimJob {
    pub engine: usize,
    pub valves: Vec<SimValve>,
}

/// How the jobs of one kind of shop come about. Deviations are of logarithms.
#[derive(Clone)]
pub struct Kind {
    pub name: &'static str,
    /// Cylinders, and valves of a cylinder.
    engines: &'static [(usize, usize)],
    one_engine: bool,
    hands: usize,
    between_hands: f64,
    between_jobs: f64,
    /// Share of the time that a valve takes when the number of valves doubles.
    rate: (f64, f64),
    /// From so many valves on nobody learns any more.
    plateau: Option<(f64, f64)>,
    noise: (f64, f64),
    /// Degrees of freedom of Student's t; 0 is the normal distribution.
    tails: usize,
    /// Share of valves with a break of 3 to 12 minutes that is not noted.
    unnoted: f64,
    /// The pace wanders by so much from valve to valve, and begins anew after a night.
    wander: f64,
    /// So much slower at the end of a day.
    tired: f64,
    side: (f64, f64),
    /// Whether both sides of a cylinder are worked together, or all intakes first.
    mixed: bool,
    /// Minutes more for the first valve of a cylinder.
    first: (f64, f64),
    /// Share of valves that take two to five times as long.
    slow: f64,
    between_cylinders: f64,
    /// Share of jobs that another hand takes over on the way.
    handed_over: f64,
    /// Share of valves whose tap comes late, so that the next one shows too little.
    late: f64,
    /// So much quicker from job to job.
    quicker: f64,
}

const USUAL: Kind = Kind {
    name: "usual",
    engines: &[(4, 4), (6, 4), (8, 4)],
    one_engine: true,
    hands: 2,
    between_hands: 0.15,
    between_jobs: 0.12,
    rate: (0.75, 0.95),
    plateau: None,
    noise: (0.10, 0.25),
    tails: 0,
    unnoted: 0.02,
    wander: 0.0,
    tired: 0.0,
    side: (0.0, 0.0),
    mixed: true,
    first: (0.0, 0.0),
    slow: 0.0,
    between_cylinders: 0.0,
    handed_over: 0.0,
    late: 0.0,
    quicker: 0.0,
};

/// The name of the kind in which nothing but learning happens.
pub const PURE_LEARNING: &str = "pure learning";

/// Thirteen kinds that shops are known by, and five more that nobody had in mind when the
/// forecast was made.
pub const KINDS: [Kind; 18] = [
    USUAL,
    Kind {
        name: PURE_LEARNING,
        noise: (0.10, 0.20),
        unnoted: 0.0,
        between_hands: 0.1,
        ..USUAL
    },
    Kind {
        name: "no learning",
        rate: (1.0, 1.0),
        ..USUAL
    },
    Kind {
        name: "plateau",
        rate: (0.70, 0.90),
        plateau: Some((4.0, 10.0)),
        ..USUAL
    },
    Kind {
        name: "heavy tails",
        tails: 3,
        noise: (0.15, 0.30),
        ..USUAL
    },
    Kind {
        name: "pace drifts over the day",
        wander: 0.10,
        rate: (0.85, 1.0),
        ..USUAL
    },
    Kind {
        name: "sides differ, mixed",
        side: (0.2, 0.5),
        ..USUAL
    },
    Kind {
        name: "sides differ, one after the other",
        side: (0.2, 0.5),
        mixed: false,
        ..USUAL
    },
    Kind {
        name: "first of a cylinder",
        first: (3.0, 8.0),
        ..USUAL
    },
    Kind {
        name: "rare slow valves",
        slow: 0.05,
        ..USUAL
    },
    Kind {
        name: "calm",
        noise: (0.05, 0.12),
        unnoted: 0.0,
        ..USUAL
    },
    Kind {
        name: "rough",
        noise: (0.25, 0.45),
        ..USUAL
    },
    Kind {
        name: "many hands and engines",
        hands: 5,
        between_hands: 0.3,
        one_engine: false,
        ..USUAL
    },
    Kind {
        name: "tired by the evening",
        tired: 0.35,
        rate: (0.9, 1.0),
        ..USUAL
    },
    Kind {
        name: "stuck cylinders",
        between_cylinders: 0.25,
        ..USUAL
    },
    Kind {
        name: "handed over midway",
        handed_over: 0.7,
        hands: 3,
        between_hands: 0.3,
        ..USUAL
    },
    Kind {
        name: "small engines, late taps",
        engines: &[(3, 2), (4, 2), (3, 4)],
        late: 0.5,
        ..USUAL
    },
    Kind {
        name: "quicker job by job",
        quicker: 0.05,
        between_jobs: 0.2,
        ..USUAL
    },
];

/// One shop: what stays from job to job.
pub struct SimShop {
    kind: Kind,
    level: f64,
    hands: Vec<f64>,
    engines: Vec<f64>,
    own_engine: usize,
    side: f64,
    first: f64,
    rate: f64,
    jobs: u32,
}

/// What holds in one job.
struct Terms {
    level: f64,
    rate: f64,
    plateau: f64,
    noise: f64,
    day: f64,
    cylinders: Vec<f64>,
}

impl SimShop {
    pub fn new(kind: &Kind, random: &mut Random) -> Self {
        let mut some = |count: usize, deviation: f64| -> Vec<f64> {
            (0..count).map(|_| deviation * random.normal()).collect()
        };
        let hands = some(kind.hands, kind.between_hands);
        let engines = some(kind.engines.len(), 0.2);
        let level = 14.0_f64.ln() + some(1, 0.3)[0];
        let sign = if random.chance(0.8) { 1.0 } else { -1.0 };
        Self {
            level,
            hands,
            engines,
            own_engine: random.below(kind.engines.len()),
            side: sign * random.between(kind.side.0, kind.side.1),
            first: random.between(kind.first.0, kind.first.1),
            rate: random.between(kind.rate.0, kind.rate.1),
            jobs: 0,
            kind: kind.clone(),
        }
    }

    /// The next job.
    pub fn job(&mut self, random: &mut Random) -> SimJob {
        let kind = self.kind.clone();
        let engine = if kind.one_engine {
            self.own_engine
        } else {
            random.below(kind.engines.len())
        };
        let order = order_of(&kind, engine);
        let hands = [random.below(kind.hands), random.below(kind.hands)];
        let handed_over_at = if random.chance(kind.handed_over) {
            random.below(order.len())
        } else {
            order.len()
        };
        let terms = self.terms(engine, random);
        self.jobs += 1;
        let mut valves: Vec<SimValve> = Vec::with_capacity(order.len());
        let (mut day, mut today, mut wander) = (0, random.between(0.0, 200.0), 0.0);
        for (at, (cylinder, exhaust)) in order.iter().enumerate() {
            if today > terms.day {
                (today, wander, day) = (0.0, 0.0, day + 1);
            }
            wander += kind.wander * random.normal();
            let hand = hands[usize::from(at >= handed_over_at)];
            let opens_cylinder = at == 0 || order[at - 1].0 != *cylinder;
            let side = if *exhaust { 0.5 } else { -0.5 } * self.side;
            let number = ((at + 1) as f64).min(terms.plateau);
            let ln_minutes = terms.level
                + self.hands[hand]
                + terms.rate.log2() * number.ln()
                + wander
                + kind.tired * today / terms.day
                + terms.cylinders[*cylinder]
                + side;
            let minutes = self.happens(ln_minutes, terms.noise, opens_cylinder, random);
            today += minutes;
            valves.push(SimValve {
                minutes,
                exhaust: *exhaust,
                opens_cylinder,
                day,
                hand: hand as u16,
            });
        }
        tap_late(&kind, &mut valves, random);
        SimJob { engine, valves }
    }

    fn terms(&self, engine: usize, random: &mut Random) -> Terms {
        let kind = &self.kind;
        let own_rate = random.between(kind.rate.0, kind.rate.1);
        Terms {
            level: self.level + self.engines[engine] + kind.between_jobs * random.normal()
                - kind.quicker * f64::from(self.jobs),
            rate: 0.5 * (self.rate + own_rate),
            plateau: kind
                .plateau
                .map_or(f64::INFINITY, |(from, to)| random.between(from, to)),
            noise: random.between(kind.noise.0, kind.noise.1),
            day: random.between(180.0, 260.0),
            cylinders: (0..kind.engines[engine].0)
                .map(|_| kind.between_cylinders * random.normal())
                .collect(),
        }
    }

    /// Minutes of one valve whose like take so long.
    fn happens(&self, ln_like: f64, noise: f64, opens: bool, random: &mut Random) -> f64 {
        let kind = &self.kind;
        let chance = if kind.tails > 0 {
            student(random, kind.tails)
        } else {
            random.normal()
        };
        let mut minutes = (ln_like + (noise * chance).clamp(-2.0, 2.0)).exp();
        if opens {
            minutes += self.first * (0.2 * random.normal()).exp();
        }
        if random.chance(kind.slow) {
            minutes *= random.between(2.0, 5.0);
        }
        if random.chance(0.10) {
            minutes += random.between(0.5, 2.0);
        }
        if random.chance(kind.unnoted) {
            minutes += random.between(3.0, 12.0);
        }
        minutes
    }
}

/// Student's t with so many degrees of freedom, from its definition.
fn student(random: &mut Random, freedom: usize) -> f64 {
    let normal = random.normal();
    let squares: f64 = (0..freedom).map(|_| random.normal().powi(2)).sum();
    normal / (squares / freedom as f64).sqrt()
}

/// Cylinder and side of each valve, in the order worked.
fn order_of(kind: &Kind, engine: usize) -> Vec<(usize, bool)> {
    let (cylinders, valves) = kind.engines[engine];
    let half = valves / 2;
    if kind.mixed {
        let valve = |at: usize| (at / valves, at % valves >= half);
        return (0..cylinders * valves).map(valve).collect();
    }
    let side = |exhaust| (0..cylinders * half).map(move |at| (at / half, exhaust));
    side(false).chain(side(true)).collect()
}

fn tap_late(kind: &Kind, valves: &mut [SimValve], random: &mut Random) {
    for at in 1..valves.len() {
        if random.chance(kind.late) {
            let share = random.between(0.0, 0.4) * valves[at].minutes;
            valves[at].minutes -= share;
            valves[at - 1].minutes += share;
        }
    }
}
