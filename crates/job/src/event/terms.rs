//! What was agreed.

use super::digest::Digest;
use super::said::{Film, said};

said! {
    /// What may not be passed and what is wanted; the last that was agreed holds.
    TermsAgreed {
        /// Least topcoat to leave anywhere.
        floor: Film,
        /// Most chance, over the whole vehicle, that any worked place ends below the floor.
        risk: String,
        /// Share of defects to remove.
        correction: String,
        /// Hours to spend.
        hours: String,
    } may {
        /// Most to take anywhere at this visit.
        spend: Film,
        /// Most chance that any worked place reaches the undercoat.
        through_risk: String,
        /// With whom, by the hash of the sheet that names them.
        with: Digest,
        /// What was said of it.
        note: String,
    }
}

said! {
    /// A plan, kept as it was accepted.
    PlanAccepted {
        /// The hash of the plan's bytes.
        plan: Digest,
        /// The risk that it states.
        risk: String,
        /// The correction that it expects.
        correction: String,
        /// The hours that it takes.
        hours: String,
    } may {
        /// With whom, by the hash of the sheet that names them.
        with: Digest,
        /// What was said of it.
        note: String,
    }
}
