//! The one thread that writes.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{Builder, JoinHandle};

use lastmicron_job::event::When;
use lastmicron_record::Sealed;
use rusqlite::Connection;

use super::group;
use crate::error::StoreError;
use crate::store::Outcome;

/// Requests that may wait; whoever comes then waits to be let in. Judgement: at 12 ms a commit, 50 devices at 5 events a second have three waiting; larger,
/// and a burst is answered later than a person waits; smaller, and threads of the caller wait where the queue might.
const QUEUE: usize = 256;

/// Most events of one transaction. Judgement: some 50 ms of writing; larger, and the first of them waits longer for its answer than for its own commit;
/// smaller, and a burst pays for more syncs than it needs.
const MOST_IN_GROUP: usize = 1000;

type Answer = Result<Vec<Outcome>, StoreError>;

type Write = Box<dyn FnOnce(&mut Connection) -> Result<(), StoreError> + Send>;

struct Append {
    events: Vec<Sealed>,
    received: When,
    answer: SyncSender<Answer>,
}

/// What is written in a transaction of its own.
struct Alone {
    write: Write,
    answer: SyncSender<Result<(), StoreError>>,
}

enum Request {
    Append(Append),
    Alone(Alone),
}

/// The thread that writes, and the way to it.
#[derive(Debug)]
pub(super) struct Writer {
    requests: Option<SyncSender<Request>>,
    thread: Option<JoinHandle<()>>,
}

impl Writer {
    /// `open` opens the database anew where the disk did not take what was written.
    pub(super) fn start(
        connection: Connection,
        open: impl Fn() -> Result<Connection, StoreError> + Send + 'static,
        is_damaged: Arc<AtomicBool>,
    ) -> io::Result<Self> {
        let (requests, queue) = sync_channel(QUEUE);
        let mut database = Database { connection: Some(connection), open };
        let thread = Builder::new().name("record".to_owned()).spawn(move || write(&mut database, &queue, &is_damaged))?;
        Ok(Self { requests: Some(requests), thread: Some(thread) })
    }

    pub(super) fn append(&self, events: Vec<Sealed>, received: When) -> Answer {
        let (answer, answered) = sync_channel(1);
        let requests = self.requests.as_ref().ok_or(StoreError::Closed)?;
        requests.send(Request::Append(Append { events, received, answer })).map_err(|_| StoreError::Closed)?;
        answered.recv().map_err(|_| StoreError::Closed)?
    }

    pub(super) fn alone(&self, write: impl FnOnce(&mut Connection) -> Result<(), StoreError> + Send + 'static) -> Result<(), StoreError> {
        let (answer, answered) = sync_channel(1);
        let requests = self.requests.as_ref().ok_or(StoreError::Closed)?;
        requests.send(Request::Alone(Alone { write: Box::new(write), answer })).map_err(|_| StoreError::Closed)?;
        answered.recv().map_err(|_| StoreError::Closed)?
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        // Without a way to it the thread comes to its end, and closes the database.
        drop(self.requests.take());
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// The database, and how it is opened.
struct Database<O> {
    connection: Option<Connection>,
    open: O,
}

impl<O: Fn() -> Result<Connection, StoreError>> Database<O> {
    /// Writes something. After a write or a sync that failed, the database is closed, and opened before the next: the system counts what it could not write as written, and a second sync
    /// would say that all is well.
    fn write<T>(&mut self, write: impl FnOnce(&mut Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let mut connection = self.connection.take().map_or_else(&self.open, Ok)?;
        let done = write(&mut connection);
        if !matches!(done, Err(StoreError::Disk(_))) {
            self.connection = Some(connection);
        }
        done
    }
}

fn write(database: &mut Database<impl Fn() -> Result<Connection, StoreError>>, queue: &Receiver<Request>, is_damaged: &AtomicBool) {
    while let Ok(first) = queue.recv() {
        let (mut group, mut events, mut next) = (Vec::new(), 0, Some(first));
        let mut alone = None;
        while let Some(request) = next {
            match request {
                Request::Append(append) => {
                    events += append.events.len();
                    group.push(append);
                }
                // Nothing that came behind it is taken before it.
                Request::Alone(found) => {
                    alone = Some(found);
                    break;
                }
            }
            next = if events < MOST_IN_GROUP { queue.try_recv().ok() } else { None };
        }
        if !group.is_empty() {
            append(database, group, is_damaged);
        }
        if let Some(Alone { write, answer }) = alone {
            drop(answer.send(unless_damaged(is_damaged, || database.write(write))));
        }
    }
}

/// Writes nothing over damage that was found, and remembers damage that is found in writing.
fn unless_damaged<T>(is_damaged: &AtomicBool, write: impl FnOnce() -> Result<T, StoreError>) -> Result<T, StoreError> {
    if is_damaged.load(Ordering::Acquire) {
        return Err(StoreError::Damaged("damage was found before".to_owned()));
    }
    let done = write();
    if matches!(done, Err(StoreError::Damaged(_))) {
        is_damaged.store(true, Ordering::Release);
    }
    done
}

fn append(database: &mut Database<impl Fn() -> Result<Connection, StoreError>>, requests: Vec<Append>, is_damaged: &AtomicBool) {
    let taken = requests.iter().map(|request| (request.events.as_slice(), &request.received));
    let outcomes = unless_damaged(is_damaged, || database.write(|connection| group::append(connection, taken)));
    // Whoever has gone meanwhile will ask again, and is given the same receipt then.
    match outcomes {
        Ok(outcomes) => requests.into_iter().zip(outcomes).for_each(|(request, outcomes)| drop(request.answer.send(Ok(outcomes)))),
        Err(error) => requests.into_iter().for_each(|request| drop(request.answer.send(Err(error.clone())))),
    }
}
