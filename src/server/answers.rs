//! Answers requests beside the main loop, one after the other, each from the texts as they were when it came. A fault of
//! ours is an answer too, and the next request is answered all the same.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel};
use std::sync::{Arc, Mutex};
use std::thread;

use lsp_server::{ErrorCode, Request, RequestId, Response};

use crate::server::requests::{Refused, Snapshot, answer};
use crate::server::transport::Outgoing;

/// The identifiers of requests that nobody waits for any more.
#[derive(Clone, Debug, Default)]
pub struct Cancelled(Arc<Mutex<BTreeSet<RequestId>>>);

impl Cancelled {
    /// Nobody waits for this one.
    pub fn add(&self, id: RequestId) {
        if let Ok(mut ids) = self.0.lock() {
            ids.insert(id);
        }
    }

    /// Whether nobody waits for it; that is asked once.
    pub fn take(&self, id: &RequestId) -> bool {
        self.0.lock().is_ok_and(|mut ids| ids.remove(id))
    }
}

/// A request with what it is answered from.
#[derive(Debug)]
pub struct Question {
    /// The request.
    pub request: Request,
    /// The texts and what is known of them.
    pub snapshot: Snapshot,
}

/// Starts the thread that answers.
pub fn start(out: SyncSender<Outgoing>, cancelled: Cancelled) -> Sender<Question> {
    let (questions, inbox) = channel();
    thread::spawn(move || run(&inbox, &out, &cancelled));
    questions
}

fn run(questions: &Receiver<Question>, out: &SyncSender<Outgoing>, cancelled: &Cancelled) {
    for Question { request, snapshot } in questions {
        let id = request.id.clone();
        let outgoing = if cancelled.take(&id) {
            Outgoing::message(refusal(id, ErrorCode::RequestCanceled, "cancelled"))
        } else {
            let work = || answer(&request.method, request.params, &snapshot);
            match catch_unwind(AssertUnwindSafe(work)) {
                Ok(Ok(result)) => Outgoing::answer(&id, &result),
                Ok(Err(Refused { code, why })) => Outgoing::message(refusal(id, code, &why)),
                Err(_) => {
                    let why = "a fault of this program, please report it";
                    Outgoing::message(refusal(id, ErrorCode::InternalError, why))
                }
            }
        };
        if out.send(outgoing).is_err() {
            return;
        }
    }
}

/// An answer that says why there is none.
pub fn refusal(id: RequestId, code: ErrorCode, why: &str) -> Response {
    Response::new_err(id, code as i32, why.to_owned())
}
