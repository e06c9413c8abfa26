//! Every thread takes the next block of a file, parses it, and puts its rows into a queue; whoever
//! finds the next block in it hands it on, in order. No more than `QUEUE` blocks wait.
//!
//! Must not know: what a block is, what is done with the rows.

use std::collections::BTreeMap;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

use super::Batches;
use super::batch::Batch;

/// So many blocks wait at most for one before them.
const QUEUE: usize = 8;

/// Blocks that are parsed and wait for their turn.
#[derive(Default)]
struct Waiting {
    ready: BTreeMap<u64, Batch>,
    next: u64,
    /// Whether a thread is handing blocks on.
    handing: bool,
    /// Whether a thread panicked, which ends the whole reading when the threads are joined.
    given_up: bool,
    /// Batches to be used again.
    spare: Vec<Batch>,
}

fn lock<T: ?Sized>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes blocks from `fill` until it says that there are no more, turns each into rows on one of
/// the threads, and hands them on in order.
pub(super) fn stream<Block, Parse>(
    fill: impl FnMut(&mut Block) -> bool + Send,
    parser: impl Fn() -> Parse + Sync,
    workers: Option<usize>,
    to: &mut dyn Batches,
) where
    Block: Default,
    Parse: FnMut(&Block, &mut Batch),
{
    let cores = thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let workers = workers.unwrap_or(cores).clamp(1, 16);
    let fill = Mutex::new((fill, 0_u64));
    let waiting = Mutex::new(Waiting::default());
    let handed = Condvar::new();
    let to = Mutex::new(to);
    let work = || {
        let _watch = Watch {
            waiting: &waiting,
            handed: &handed,
        };
        let mut parse = parser();
        let mut block = Block::default();
        loop {
            let serial = {
                let mut fill = lock(&fill);
                if !fill.0(&mut block) {
                    break;
                }
                fill.1 += 1;
                fill.1 - 1
            };
            let mut batch = lock(&waiting).spare.pop().unwrap_or_default();
            parse(&block, &mut batch);
            let mut queue = lock(&waiting);
            queue.ready.insert(serial, batch);
            loop {
                queue = hand_on(queue, &to, &waiting, &handed);
                if queue.given_up {
                    return;
                }
                if queue.ready.len() < QUEUE {
                    break;
                }
                queue = handed.wait(queue).unwrap_or_else(PoisonError::into_inner);
            }
        }
    };
    thread::scope(|scope| {
        for _ in 1..workers {
            scope.spawn(work);
        }
        work();
    });
}

/// Lets nobody wait for a thread that panicked.
struct Watch<'a> {
    waiting: &'a Mutex<Waiting>,
    handed: &'a Condvar,
}

impl Drop for Watch<'_> {
    fn drop(&mut self) {
        if thread::panicking() {
            lock(self.waiting).given_up = true;
            self.handed.notify_all();
        }
    }
}

/// Hands on what is next, as long as it is there and no other thread does so already, which then
/// finds it.
fn hand_on<'a>(
    mut queue: MutexGuard<'a, Waiting>,
    to: &Mutex<&mut dyn Batches>,
    waiting: &'a Mutex<Waiting>,
    handed: &Condvar,
) -> MutexGuard<'a, Waiting> {
    while !queue.handing {
        let next = queue.next;
        let Some(mut batch) = queue.ready.remove(&next) else {
            break;
        };
        queue.handing = true;
        drop(queue);
        lock(to).take(&mut batch);
        queue = lock(waiting);
        queue.handing = false;
        queue.next += 1;
        queue.spare.push(batch);
        handed.notify_all();
    }
    queue
}
