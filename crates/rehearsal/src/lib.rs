//! Invented cars with a known truth: what was measured on them, and what a plan leaves of them; and invented photographs.
//!
//! A [`Scenario`] says what kind of car to draw. [`rehearse`] draws its true film first and then measures it, as a person
//! would, with a gauge that is wrong in the ways that gauges are. [`work`] carries out orders on the truth.
//! What is taken near edges is drawn about what the job states, or summed up from the physics of pads: [`Physics`].
//! A planner sees the [`Car`](lastmicron_plan::Car) only, never the [`Truth`].
//!
//! [`photograph`] draws photographs of scratched panels, of which it is known what was polished away.

mod bench_rule;
mod chance;
pub mod families;
mod field;
mod oracle;
mod orders;
pub mod photograph;
mod physics;
mod scenario;
mod score;
mod spot;
mod survey;
mod taken;
mod truth;
mod working;

pub use bench_rule::bench_rule;
pub use chance::{Range, Tails};
pub use oracle::{OracleScore, oracle};
pub use orders::{PanelOrders, SectionOrders, Unlawful, orders_of};
pub use physics::{Hand, Physics, PhysicsError};
pub use scenario::{Drawn, Edges, History, Panels, Scenario, ScenarioError, Sketch, StatedLimits, Workshop};
pub use score::{Score, Tally, Worked, score, tally};
pub use survey::{Place, anywhere, measure_again};
pub use truth::{Depths, GaugeTruth, PanelTruth, Rehearsal, TrueEdges, Truth, rehearse};
pub use working::{Aftermath, Lowest, PanelAftermath, work};
