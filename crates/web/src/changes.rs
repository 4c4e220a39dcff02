//! That something was recorded, told to every page that is open on the job: server-sent events.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::State;
use axum::response::sse::{Event as Sent, KeepAlive, Sse};
use futures_util::stream::{Stream, unfold};
use tokio::sync::broadcast::error::RecvError;

use crate::asked::JobId;
use crate::failure::Failure;
use crate::shop::Shop;

/// `alive` is said as often, so that a phone that went away is noticed, and one that is there keeps the line and knows that it does.
const ALIVE: Duration = Duration::from_secs(15);

/// Answers with a stream that says `change` each time something came to the job's record.
pub(crate) async fn changes(
    State(shop): State<Arc<Shop>>,
    JobId(job): JobId,
) -> Result<Sse<impl Stream<Item = Result<Sent, Infallible>>>, Failure> {
    let told = unfold(shop.listen(), move |mut told| async move {
        loop {
            match told.recv().await {
                Ok(changed) if changed != job => {}
                // Whoever fell behind is told that something changed: that is all there is to say.
                Ok(_) | Err(RecvError::Lagged(_)) => return Some((Ok(Sent::default().event("change").data(job.to_string())), told)),
                Err(RecvError::Closed) => return None,
            }
        }
    });
    Ok(Sse::new(told).keep_alive(KeepAlive::new().interval(ALIVE).event(Sent::default().event("alive").data("alive"))))
}
