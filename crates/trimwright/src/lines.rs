//! The lines by which browsers reach the pages: how many there may be, and how long one may stay silent. A line that is held open and says
//! nothing keeps no phone of the squad out.
//!
//! Each line has a file handle of the system, of which a program usually has 1024.

use std::collections::HashMap;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::extract::{ConnectInfo, Request};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tower_http::timeout::{RequestBodyTimeout, RequestBodyTimeoutLayer};
use tower_layer::Layer;

use crate::pages::Ends;

/// Lines of all addresses together. Assumed: a phone's browser opens six, and most are idle for seconds only.
const ALL: usize = 600;
/// Lines of one address. Assumed: a browser opens six to one address; two of them and the program's own test of it.
const OF_ONE: usize = 48;
/// A request's head comes within this, and so does the next request on a line that stays open.
const HEAD: Duration = Duration::from_secs(15);
/// Between two parts of a form or a file no more than this goes by.
const PART: Duration = Duration::from_secs(20);
/// After an error of the system that takes no line now (too many files are open) the next is tried after this.
const AGAIN: Duration = Duration::from_millis(100);

/// The lines that are open, counted.
#[derive(Debug, Clone, Default)]
pub struct Lines(Arc<Mutex<HashMap<IpAddr, usize>>>);

/// A line that is counted until it is let go.
#[derive(Debug)]
struct Held {
    lines: Lines,
    from: IpAddr,
}

impl Lines {
    fn open(&self) -> MutexGuard<'_, HashMap<IpAddr, usize>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// One more line from an address, where there is room for it; `home` is this machine's own.
    fn taken(&self, from: IpAddr, home: bool) -> Option<Held> {
        let from = from.to_canonical();
        let mut open = self.open();
        // Who sits at this machine is never kept out by the network.
        let room = home || open.values().sum::<usize>() < ALL;
        let own = open.entry(from).or_default();
        let room = room && *own < if home { ALL } else { OF_ONE };
        if room {
            *own += 1;
        } else if *own == 0 {
            open.remove(&from);
        }
        drop(open);
        room.then(|| Held { lines: self.clone(), from })
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        let mut open = self.lines.open();
        if let Some(own) = open.get_mut(&self.from) {
            *own -= 1;
            if *own == 0 {
                open.remove(&self.from);
            }
        }
    }
}

/// Answers all who come in by a listener, as long as the program runs.
pub async fn served(listener: TcpListener, router: Router, lines: Lines) {
    let service = RequestBodyTimeoutLayer::new(PART).layer(router);
    loop {
        let (stream, from) = match listener.accept().await {
            Ok(one) => one,
            Err(_) => {
                tokio::time::sleep(AGAIN).await;
                continue;
            }
        };
        let Ok(ends) = ends(&stream, from) else { continue };
        // Dropped, the line is closed.
        let Some(held) = lines.taken(from.ip(), ends.at_home()) else { continue };
        tokio::spawn(answered(stream, ends, service.clone(), held));
    }
}

fn ends(stream: &TcpStream, from: SocketAddr) -> io::Result<Ends> {
    Ok(Ends::of(stream.local_addr()?, from))
}

/// One line to its end. How it ended is nobody's concern here: a browser that goes away says nothing.
async fn answered(stream: TcpStream, ends: Ends, service: RequestBodyTimeout<Router>, held: Held) {
    let _ = stream.set_nodelay(true);
    let service = tower_layer::layer_fn(move |inner| Known { inner, ends }).layer(service);
    let _ = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD)
        .serve_connection(TokioIo::new(stream), TowerToHyperService::new(service))
        .await;
    drop(held);
}

/// Tells each request by which ends it came.
#[derive(Debug, Clone)]
struct Known<S> {
    inner: S,
    ends: Ends,
}

impl<S, B> tower_service::Service<Request<B>> for Known<S>
where
    S: tower_service::Service<Request<B>>,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = S::Future;

    fn poll_ready(&mut self, context: &mut core::task::Context<'_>) -> core::task::Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, mut request: Request<B>) -> Self::Future {
        request.extensions_mut().insert(ConnectInfo(self.ends));
        self.inner.call(request)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_takes_its_share_and_not_all() {
        let lines = Lines::default();
        let from = |k: u32| IpAddr::V4((0x0a00_0000 + k).into());
        let mut held: Vec<Held> = (0..100).filter_map(|_| lines.taken(from(1), false)).collect();
        assert_eq!(held.len(), OF_ONE);
        held.extend((0..2000).filter_map(|k| lines.taken(from(k % 1000 + 2), false)));
        assert_eq!(held.len(), ALL);
        // The coach at this machine comes in all the same.
        assert!(lines.taken(std::net::Ipv4Addr::LOCALHOST.into(), true).is_some());
        held.truncate(1);
        assert!(lines.taken(from(7), false).is_some());
        drop(held);
        assert!(lines.open().is_empty(), "what is closed is not counted");
    }
}
