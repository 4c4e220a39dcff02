//! Where the app answers: on this machine in plain http, on the local network by TLS or, if somebody wants that, in the open.

use std::fmt;
use std::io;
use std::net::TcpListener;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use tokio::io::{AsyncRead, AsyncReadExt as _, AsyncWrite, AsyncWriteExt as _, ReadBuf};
use tokio::net::TcpStream;
use tokio::sync::mpsc::{Receiver, Sender, channel};
use tokio::time::{sleep, timeout};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::server::TlsStream;

use crate::phones_page::Trust;
use crate::reach::{Arrived, Reach, Way};

/// Longest that a caller may take to agree on TLS. Judgement: a phone at the edge of the network takes two seconds; one that says nothing holds a file open.
const AGREED_WITHIN: Duration = Duration::from_secs(10);

/// Callers that wait to be answered. Judgement: more than a workshop has devices; those beyond wait in the system.
const WAITING: usize = 64;

/// How long to wait when the system gives no more lines: some of those that are open end by then.
const NO_MORE_LINES: Duration = Duration::from_secs(1);

/// First byte of TLS: RFC 8446, section 5.1.
const HANDSHAKE: u8 = 22;

/// Most bytes of the head of a request that is sent on to TLS. Judgement: as many as servers take of one; a browser sends a tenth.
const HEAD_BYTES: usize = 32 * 1024;

/// What ends the head of a request: RFC 9112, section 2.1.
const HEAD_ENDS: &[u8] = b"\r\n\r\n";

/// Most bytes that are read after the answer, so that it arrives: what is sent with a form. A line that is closed with something unread on it takes the answer with it.
const LEFT_BYTES: usize = 1024 * 1024;

/// How long the rest is waited for once the answer is sent. Judgement: whoever has it closes the line at once.
const LEFT_WITHIN: Duration = Duration::from_secs(2);

/// Where the app answers.
#[derive(Debug)]
pub struct Doors {
    /// For this machine.
    pub loopback: TcpListener,
    /// For the local network.
    pub lan: Option<Lan>,
}

impl From<TcpListener> for Doors {
    /// For this machine alone.
    fn from(loopback: TcpListener) -> Self {
        Self { loopback, lan: None }
    }
}

/// Where and how the app answers on the local network.
#[derive(Debug)]
pub struct Lan {
    /// On which sockets.
    pub sockets: Vec<TcpListener>,
    /// What this machine may be called from there.
    pub hosts: Vec<String>,
    /// How it speaks there.
    pub spoken: Spoken,
}

/// How the app speaks on the local network.
pub enum Spoken {
    /// By TLS; and in the open, on sockets of its own, it says how a phone comes to trust that.
    Tls {
        /// With which certificate.
        config: Arc<ServerConfig>,
        /// What a phone is to trust.
        trust: Trust,
        /// Where that is told.
        told_on: Vec<TcpListener>,
    },
    /// In the open.
    Plain,
}

impl fmt::Debug for Spoken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if matches!(self, Self::Plain) { "Plain" } else { "Tls" })
    }
}

impl Doors {
    pub(crate) fn reach(&self) -> io::Result<Reach> {
        let Some(Lan { sockets, hosts, spoken }) = &self.lan else { return Ok(Reach::default()) };
        let way = if matches!(spoken, Spoken::Plain) { Way::Plain } else { Way::Tls };
        let origin = sockets.first().map(|socket| Ok::<_, io::Error>(way.origin(&socket.local_addr()?.to_string()))).transpose()?;
        Ok(Reach::beyond_loopback(hosts.clone(), origin))
    }
}

/// All who call, from whichever side.
#[derive(Debug)]
pub(crate) struct Callers {
    lines: Receiver<(Line, Arrived)>,
}

impl Callers {
    /// Lets callers in on these sockets.
    pub(crate) fn at(loopback: TcpListener, lan: Vec<TcpListener>, tls: Option<&Arc<ServerConfig>>) -> io::Result<Self> {
        let (let_in, lines) = channel(WAITING);
        tokio::spawn(door(listening(loopback)?, Way::Loopback, None, let_in.clone()));
        let way = if tls.is_some() { Way::Tls } else { Way::Plain };
        for socket in lan {
            let agree = tls.map(|config| TlsAcceptor::from(Arc::clone(config)));
            tokio::spawn(door(listening(socket)?, way, agree, let_in.clone()));
        }
        Ok(Self { lines })
    }
}

/// A socket that is waited at.
pub(crate) fn listening(socket: TcpListener) -> io::Result<tokio::net::TcpListener> {
    socket.set_nonblocking(true)?;
    tokio::net::TcpListener::from_std(socket)
}

async fn door(socket: tokio::net::TcpListener, way: Way, agree: Option<TlsAcceptor>, let_in: Sender<(Line, Arrived)>) {
    loop {
        let (line, from) = match socket.accept().await {
            Ok(called) => called,
            Err(error) => {
                if !gone_again(&error) {
                    sleep(NO_MORE_LINES).await;
                }
                continue;
            }
        };
        let arrived = Arrived { way, from: Some(from) };
        let Some(agree) = agree.clone() else {
            if let_in.send((Line::Plain(line), arrived)).await.is_err() {
                return;
            }
            continue;
        };
        // Whoever is slow to agree keeps nobody else waiting.
        let let_in = let_in.clone();
        tokio::spawn(async move {
            if let Ok(Some(line)) = timeout(AGREED_WITHIN, agreed(line, &agree)).await {
                let _ = let_in.send((line, arrived)).await;
            }
        });
    }
}

/// Whether only the caller is gone, and not the means to hear the next.
fn gone_again(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::ConnectionRefused | io::ErrorKind::ConnectionAborted | io::ErrorKind::ConnectionReset)
}

async fn agreed(line: TcpStream, agree: &TlsAcceptor) -> Option<Line> {
    let mut first = [0];
    if line.peek(&mut first).await.ok()? > 0 && first != [HANDSHAKE] {
        let _ = sent_on(line).await;
        return None;
    }
    Some(Line::Tls(Box::new(agree.accept(line).await.ok()?)))
}

/// Somebody typed the address without https: they are sent to where it is.
async fn sent_on(mut line: TcpStream) -> io::Result<()> {
    let address = line.local_addr()?;
    if head_ended(&mut line).await? {
        let answer =
            format!("HTTP/1.1 307 Temporary Redirect\r\nlocation: https://{address}/\r\ncontent-length: 0\r\nconnection: close\r\n\r\n");
        line.write_all(answer.as_bytes()).await?;
    }
    line.shutdown().await?;
    // How it ends is nobody's any more.
    let _ = timeout(LEFT_WITHIN, drained(&mut line)).await;
    Ok(())
}

/// Reads a request to the end of its head, wherever in what was sent together that stands; whether there is one.
async fn head_ended(line: &mut (impl AsyncRead + Unpin)) -> io::Result<bool> {
    let mut head: Vec<u8> = Vec::new();
    let mut part = [0; 1024];
    while head.len() < HEAD_BYTES {
        let read = line.read(&mut part).await?;
        if read == 0 {
            return Ok(false);
        }
        // The end may be sent in parts, too.
        let from = head.len().saturating_sub(HEAD_ENDS.len() - 1);
        head.extend(part.iter().take(read));
        if head.get(from..).is_some_and(|new| new.windows(HEAD_ENDS.len()).any(|four| four == HEAD_ENDS)) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Reads what is left on a line, up to a limit.
async fn drained(line: &mut TcpStream) -> io::Result<()> {
    let mut part = [0; 4096];
    let mut left = LEFT_BYTES;
    while left > 0 {
        match line.read(&mut part).await? {
            0 => break,
            read => left = left.saturating_sub(read),
        }
    }
    Ok(())
}

impl Listener for Callers {
    type Io = Line;
    type Addr = Arrived;

    async fn accept(&mut self) -> (Line, Arrived) {
        match self.lines.recv().await {
            Some(called) => called,
            // All doors are gone only when the program ends.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<Arrived> {
        Ok(Arrived::default())
    }
}

impl Connected<IncomingStream<'_, Callers>> for Arrived {
    fn connect_info(called: IncomingStream<'_, Callers>) -> Self {
        *called.remote_addr()
    }
}

/// A line to a caller.
#[derive(Debug)]
pub(crate) enum Line {
    Plain(TcpStream),
    Tls(Box<TlsStream<TcpStream>>),
}

impl AsyncRead for Line {
    fn poll_read(self: Pin<&mut Self>, context: &mut Context<'_>, into: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(line) => Pin::new(line).poll_read(context, into),
            Self::Tls(line) => Pin::new(line).poll_read(context, into),
        }
    }
}

impl AsyncWrite for Line {
    fn poll_write(self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Self::Plain(line) => Pin::new(line).poll_write(context, bytes),
            Self::Tls(line) => Pin::new(line).poll_write(context, bytes),
        }
    }

    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(line) => Pin::new(line).poll_flush(context),
            Self::Tls(line) => Pin::new(line).poll_flush(context),
        }
    }

    fn poll_shutdown(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(line) => Pin::new(line).poll_shutdown(context),
            Self::Tls(line) => Pin::new(line).poll_shutdown(context),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::pin::pin;
    use std::task::Waker;

    use tokio::io::duplex;

    use super::*;

    /// What has come of it by now.
    fn by_now<T>(comes: Pin<&mut impl Future<Output = T>>) -> Poll<T> {
        comes.poll(&mut Context::from_waker(Waker::noop()))
    }

    fn writes(line: &mut (impl AsyncWrite + Unpin), bytes: &[u8]) {
        assert!(matches!(by_now(pin!(line.write_all(bytes))), Poll::Ready(Ok(()))));
    }

    #[test]
    fn a_head_has_ended_when_the_last_byte_of_what_ends_it_is_there_and_not_before() {
        let head = b"GET / HTTP/1.1\r\nhost: bay.local\r\n\r\n";
        for cut in 1..head.len() {
            let (mut caller, mut line) = duplex(HEAD_BYTES);
            let mut ended = pin!(head_ended(&mut line));
            let (first, rest) = head.split_at(cut);
            writes(&mut caller, first);
            assert!(by_now(ended.as_mut()).is_pending(), "{cut}");
            writes(&mut caller, rest);
            assert!(matches!(by_now(ended.as_mut()), Poll::Ready(Ok(true))), "{cut}");
        }
        // With what a form sends behind it.
        let (mut caller, mut line) = duplex(HEAD_BYTES);
        writes(&mut caller, &[&head[..], &[b'x'; 10]].concat());
        assert!(matches!(by_now(pin!(head_ended(&mut line))), Poll::Ready(Ok(true))));
    }

    #[test]
    fn a_head_that_is_too_long_or_cut_short_has_no_end() {
        let (mut caller, mut line) = duplex(2 * HEAD_BYTES);
        let mut ended = pin!(head_ended(&mut line));
        writes(&mut caller, &[b'x'; HEAD_BYTES - 1]);
        assert!(by_now(ended.as_mut()).is_pending());
        writes(&mut caller, b"x");
        assert!(matches!(by_now(ended.as_mut()), Poll::Ready(Ok(false))));
        let (mut caller, mut line) = duplex(HEAD_BYTES);
        writes(&mut caller, b"GET / HTTP/1.1\r\n");
        drop(caller);
        assert!(matches!(by_now(pin!(head_ended(&mut line))), Poll::Ready(Ok(false))));
    }
}
