//! How a page gets in: two functions to be called, two that are called.
//!
//! ```text
//! take(length)           room for a request of so many bytes; the page writes it there
//! ask(length)            answers it: where the reply lies, four bytes of length, then the text
//! env.tell(at, length)   how far the answer has come: { share, words }
//! env.clock()            milliseconds since any moment
//! ```
//! The only file with unsafe code: names that a page can find, and calls out of the module. The bytes
//! themselves are owned here, in safe code.

#![allow(unsafe_code)]

use crate::Engine;
use ionfall_numerics::clock;
use std::cell::RefCell;

#[link(wasm_import_module = "env")]
unsafe extern "C" {
    #[link_name = "tell"]
    fn page_tell(at: *const u8, length: usize);
    #[link_name = "clock"]
    fn page_clock() -> f64;
}

thread_local! {
    static ENGINE: RefCell<Engine> = RefCell::default();
    static REQUEST: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
    static REPLY: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
}

/// Room for a request.
#[unsafe(no_mangle)]
pub extern "C" fn take(length: usize) -> *mut u8 {
    REQUEST.with_borrow_mut(|request| {
        request.clear();
        request.resize(length, 0);
        request.as_mut_ptr()
    })
}

/// Answers the request; the reply lies there until the next one.
#[unsafe(no_mangle)]
pub extern "C" fn ask(length: usize) -> *const u8 {
    clock::hand_in(seconds);
    let request = REQUEST.take();
    let text = String::from_utf8_lossy(&request[..length.min(request.len())]);
    let told = &mut |share: f64, words: &str| {
        tell(&serde_json::json!({ "share": share, "words": words }).to_string());
    };
    let answer = ENGINE.with_borrow_mut(|engine| engine.ask(&text, told));
    REPLY.with_borrow_mut(|reply| {
        reply.clear();
        reply.extend((answer.len() as u32).to_le_bytes());
        reply.extend(answer.as_bytes());
        reply.as_ptr()
    })
}

fn tell(text: &str) {
    // SAFETY: the page only reads these bytes, and only during the call.
    unsafe { page_tell(text.as_ptr(), text.len()) }
}

fn seconds() -> f64 {
    // SAFETY: the page gives a number back and touches nothing.
    1e-3 * unsafe { page_clock() }
}
