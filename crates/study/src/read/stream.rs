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
    /// Batches to be used again.
    spare: Vec<Batch>,
}

fn lock<T: ?Sized>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // A thread that panicked ends the whole reading when the threads are joined.
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
            handed.notify_all();
            while queue.ready.len() >= QUEUE && !queue.ready.contains_key(&queue.next) {
                queue = handed.wait(queue).unwrap_or_else(PoisonError::into_inner);
            }
            drop(queue);
            // If another thread hands on at this moment, it or a later one finds this block too.
            if let Ok(mut to) = to.try_lock() {
                hand_on(*to, &waiting, &handed);
            }
        }
    };
    thread::scope(|scope| {
        for _ in 1..workers {
            scope.spawn(work);
        }
        work();
    });
    hand_on(*lock(&to), &waiting, &handed);
}

fn hand_on(to: &mut dyn Batches, waiting: &Mutex<Waiting>, handed: &Condvar) {
    loop {
        let mut queue = lock(waiting);
        let next = queue.next;
        let Some(mut batch) = queue.ready.remove(&next) else {
            return;
        };
        drop(queue);
        to.take(&mut batch);
        let mut queue = lock(waiting);
        queue.next += 1;
        queue.spare.push(batch);
        handed.notify_all();
    }
}
