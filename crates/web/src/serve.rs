//! The app at its doors.

use std::io;
use std::sync::Arc;
use std::time::Duration;

use tokio::runtime::Builder;
use tokio::sync::oneshot;

use crate::doors::{Callers, Doors, Lan, Spoken, listening};
use crate::phones_page;
use crate::reach::Arrived;
use crate::router::router_for;
use crate::shop::Shop;

/// How long pages that are open are waited for when the app is ended: they hold a line open for as long as they are looked at.
const FAREWELL: Duration = Duration::from_secs(1);

/// Threads that answer. What blocks has threads of its own; answering is little work.
const ANSWERING: usize = 2;

/// Answers at its doors until the program is told to end (Ctrl+C, or the signal that ends services). What was acknowledged is on the disk by then.
///
/// # Errors
/// When the system gives no threads or a socket is gone.
pub fn serve(shop: Shop, doors: impl Into<Doors>) -> io::Result<()> {
    let doors = doors.into();
    let runtime = Builder::new_multi_thread().worker_threads(ANSWERING).enable_all().build()?;
    let answered = runtime.block_on(async {
        let app = router_for(Arc::new(shop), doors.reach()?).into_make_service_with_connect_info::<Arrived>();
        let (end, ended) = oneshot::channel::<()>();
        let answering = axum::serve(callers(doors)?, app).with_graceful_shutdown(async move {
            told_to_end().await;
            let _ = end.send(());
        });
        tokio::select! {
            answered = answering => answered,
            () = async { let _ = ended.await; tokio::time::sleep(FAREWELL).await } => Ok(()),
        }
    });
    runtime.shutdown_timeout(FAREWELL);
    answered
}

/// Opens the doors; where phones have to trust something, that is told beside.
fn callers(Doors { loopback, lan }: Doors) -> io::Result<Callers> {
    let Some(Lan { sockets, spoken, .. }) = lan else { return Callers::at(loopback, Vec::new(), None) };
    let Spoken::Tls { config, trust, told_on } = spoken else { return Callers::at(loopback, sockets, None) };
    let told = phones_page::router(trust);
    for socket in told_on {
        let telling = axum::serve(listening(socket)?, told.clone());
        tokio::spawn(async move { telling.await });
    }
    Callers::at(loopback, sockets, Some(&config))
}

async fn told_to_end() {
    let interrupted = async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    let terminated = async {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut signal) => {
                signal.recv().await;
            }
            Err(_) => std::future::pending().await,
        }
    };
    #[cfg(not(unix))]
    let terminated = std::future::pending::<()>();
    tokio::select! {
        () = interrupted => {}
        () = terminated => {}
    }
}
