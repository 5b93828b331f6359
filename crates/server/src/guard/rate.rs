//! How many requests a client may make: a bucket each that fills again.
//! Never: grows with the number of clients that ever came.
//! Start at [`Rate::takes`].

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

/// Requests a second that a client may make on and on: a slider that moves with the screen.
const A_SECOND: f64 = 60.0;
/// Requests that it may make at once.
const AT_ONCE: f64 = 240.0;
/// Clients that are remembered; the one that was away longest is forgotten first.
const MOST_CLIENTS: usize = 256;

#[derive(Debug)]
struct Bucket {
    left: f64,
    since: Instant,
}

/// The buckets.
#[derive(Debug, Default)]
pub struct Rate {
    buckets: Mutex<BTreeMap<IpAddr, Bucket>>,
}

impl Rate {
    /// Takes one request of a client; false where it has made too many.
    pub fn takes(&self, client: IpAddr, now: Instant) -> bool {
        let mut buckets = self.buckets.lock().unwrap_or_else(PoisonError::into_inner);
        if buckets.len() >= MOST_CLIENTS && !buckets.contains_key(&client) {
            let oldest = buckets.iter().min_by_key(|(_, bucket)| bucket.since).map(|(client, _)| *client);
            oldest.and_then(|oldest| buckets.remove(&oldest));
        }
        let bucket = buckets.entry(client).or_insert(Bucket { left: AT_ONCE, since: now });
        let passed = now.saturating_duration_since(bucket.since).as_secs_f64();
        bucket.left = (bucket.left + passed * A_SECOND).min(AT_ONCE);
        bucket.since = now;
        if bucket.left < 1.0 {
            return false;
        }
        bucket.left -= 1.0;
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn a_client_gets_its_burst_then_its_rate_and_troubles_nobody_else() {
        let (rate, start) = (Rate::default(), Instant::now());
        let (one, other) = (IpAddr::from([192, 0, 2, 1]), IpAddr::from([192, 0, 2, 2]));
        assert_eq!((0..1000).filter(|_| rate.takes(one, start)).count(), 240);
        assert!(rate.takes(other, start));
        let later = start + Duration::from_secs(1);
        assert_eq!((0..1000).filter(|_| rate.takes(one, later)).count(), 60);
    }

    #[test]
    fn many_clients_are_not_all_remembered() {
        let (rate, start) = (Rate::default(), Instant::now());
        for number in 0..2000_u32 {
            assert!(
                rate.takes(
                    IpAddr::from(number.to_be_bytes()),
                    start + Duration::from_millis(u64::from(number))
                )
            );
        }
        assert_eq!(rate.buckets.lock().unwrap().len(), MOST_CLIENTS);
    }
}
