//! The app on a socket.

use std::io;
use std::net::{SocketAddr, TcpListener};
use std::time::Duration;

use tokio::runtime::Builder;
use tokio::sync::oneshot;

use crate::router::router;
use crate::shop::Shop;

/// How long pages that are open are waited for when the app is ended: they hold a line open for as long as they are looked at.
const FAREWELL: Duration = Duration::from_secs(1);

/// Threads that answer. What blocks has threads of its own; answering is little work.
const ANSWERING: usize = 2;

/// Answers on a socket until the program is told to end (Ctrl+C, or the signal that ends services). What was acknowledged is on the disk by then.
///
/// # Errors
/// When the system gives no threads or the socket is gone.
pub fn serve(shop: Shop, socket: TcpListener) -> io::Result<()> {
    socket.set_nonblocking(true)?;
    let runtime = Builder::new_multi_thread().worker_threads(ANSWERING).enable_all().build()?;
    let answered = runtime.block_on(async {
        let socket = tokio::net::TcpListener::from_std(socket)?;
        let (end, ended) = oneshot::channel::<()>();
        let answering =
            axum::serve(socket, router(shop).into_make_service_with_connect_info::<SocketAddr>()).with_graceful_shutdown(async move {
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
