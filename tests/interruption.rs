//! A run that is killed at any moment, or that meets a full disk, leaves the plan that stood there whole; the next run
//! clears away what is left and gives the same bytes as if nothing had happened.
//!
//! A few kills with every test; two hundred with `cargo test --test interruption -- --ignored --nocapture`, and a disk
//! that is really full where this process may mount one.

#![cfg(all(feature = "cli", unix))]

use polewright::chance::{Key, Purpose, Slot};
use polewright::invent::{Recipe, invent};
use rand::RngExt;
use std::collections::BTreeMap;
use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus, Output, Stdio};
use std::time::{Duration, Instant};

/// Poles of the network: few enough that a run takes less than a second, so that hundreds of them can be killed.
const POLES: usize = 60;

/// A folder with a network's lists, and a whole plan of them in `plan`.
struct Planned {
    folder: tempfile::TempDir,
    /// How long a whole run took.
    takes: Duration,
}

/// What a folder holds: each file's bytes by its name, without the run's seconds.
type Content = BTreeMap<PathBuf, Vec<u8>>;

impl Planned {
    fn new() -> Self {
        let models = polewright::models::text::built_in().expect("valid models");
        let made = invent(&Recipe::demo(POLES, 3, true), &models).files;
        let folder = tempfile::tempdir().expect("a temporary folder");
        for (name, text) in [
            ("poles.csv", &made.poles),
            ("inspections.csv", &made.inspections),
            ("programme.toml", &made.programme),
        ] {
            fs::write(folder.path().join(name), text).expect("a list is written");
        }
        let planned = Self {
            folder,
            takes: Duration::ZERO,
        };
        let start = Instant::now();
        let first = planned.command("1").output().expect("the program starts");
        assert!(first.status.success(), "{}", said(&first));
        Self {
            takes: start.elapsed(),
            ..planned
        }
    }

    /// A plan of this seed over the one that stands there.
    fn command(&self, seed: &str) -> Command {
        self.command_onto("plan", seed)
    }

    fn command_onto(&self, out: &str, seed: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_polewright"));
        command
            .current_dir(self.folder.path())
            .stdout(Stdio::null());
        command.args([
            "plan",
            "programme.toml",
            "--out",
            out,
            "--overwrite",
            "--trials",
            "4",
            "--quiet",
            "--seed",
            seed,
        ]);
        command
    }

    fn plan(&self) -> PathBuf {
        self.folder.path().join("plan")
    }

    fn content(&self) -> Content {
        content(&self.plan())
    }

    /// Names beside the lists and the plan: what a killed run left.
    fn left(&self) -> Vec<String> {
        let entries = fs::read_dir(self.folder.path()).expect("the folder");
        let names = entries.map(|entry| entry.expect("an entry").file_name());
        let names = names.map(|name| name.to_string_lossy().into_owned());
        names
            .filter(|name| name.starts_with(".polewright-"))
            .collect()
    }

    /// Kills a run of `seed` with `signal` after `delay`.
    fn killed(&self, seed: &str, signal: &str, delay: Duration) -> ExitStatus {
        let mut child = (self.command(seed))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        std::thread::sleep(delay);
        let sent = Command::new("kill")
            .args(["-s", signal, &child.id().to_string()])
            .stderr(Stdio::null())
            .status();
        sent.expect("kill is there");
        child.wait().expect("it ends")
    }
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn content(folder: &Path) -> Content {
    let mut all = Content::new();
    for entry in fs::read_dir(folder).expect("the plan stands") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            all.extend(content(&path));
            continue;
        }
        let mut bytes = fs::read(&path).expect("a file");
        if path.ends_with("run.json") {
            let mut record: serde_json::Value =
                serde_json::from_slice(&bytes).expect("a whole record");
            let timings = record.as_object_mut().expect("a record").remove("seconds");
            assert!(timings.is_some(), "the record has no timings: {record:#}");
            bytes = record.to_string().into_bytes();
        }
        all.insert(path, bytes);
    }
    all
}

/// Kills runs at random moments until `wanted` were killed before their end; every time one of the two plans stands there
/// whole. Gives how many runs that took, and after how many kills something was left beside the plan.
fn kill_at_random(wanted: u32) -> (u32, u32) {
    let planned = Planned::new();
    let one = planned.content();
    assert!(planned.command("2").status().expect("a run").success());
    let two = planned.content();
    assert!(one != two, "two seeds give two plans");
    let mut standing = "2";
    let (mut number, mut killed, mut left) = (0_u32, 0, 0);
    let mut takes = planned.takes;
    let mut chance = Key::of(5, "kills").stream(0, Slot::new(Purpose::Invent, 0, 0));
    while killed < wanted {
        assert!(
            number < 10 * wanted,
            "only {killed} of {number} runs were killed before their end"
        );
        let signal = ["KILL", "TERM", "INT"][number as usize % 3];
        // Somewhat longer than a run takes, so that its last moments come up too.
        let delay = takes.mul_f64(chance.random_range(0.0..1.1));
        let seed = if standing == "1" { "2" } else { "1" };
        let status = planned.killed(seed, signal, delay);
        let now = planned.content();
        if now
            == if seed == "1" {
                one.clone()
            } else {
                two.clone()
            }
        {
            standing = seed;
        } else {
            assert!(
                now == if standing == "1" {
                    one.clone()
                } else {
                    two.clone()
                },
                "kill {number} ({signal} after {delay:?}) left neither plan whole"
            );
        }
        let in_time = status.signal().is_some();
        // The machine may have been busier or idler when a whole run was timed.
        takes = takes.mul_f64(if in_time { 1.02 } else { 0.9 });
        number += 1;
        killed += u32::from(in_time);
        left += u32::from(!planned.left().is_empty());
    }
    assert!(planned.command("1").status().expect("a run").success());
    assert!(
        planned.content() == one,
        "a run after the kills gives other bytes"
    );
    assert_eq!(planned.left(), Vec::<String>::new());
    (number, left)
}

#[test]
fn a_few_kills_leave_a_whole_plan() {
    kill_at_random(4);
}

#[test]
#[ignore = "two hundred runs: on demand"]
#[expect(clippy::print_stdout, reason = "whoever demands it wants the numbers")]
fn two_hundred_kills_leave_a_whole_plan() {
    const KILLS: u32 = 200;
    let (runs, left) = kill_at_random(KILLS);
    println!(
        "{runs} runs, {KILLS} killed before their end; {left} kills left something beside the plan; all plans whole"
    );
    assert!(left > 0, "no kill came while a plan was written");
}

#[test]
fn a_disk_that_is_full_leaves_the_old_plan_and_nothing_beside_it() {
    let planned = Planned::new();
    let before = planned.content();
    let program = planned.command("2");
    let arguments: Vec<_> = program.get_args().collect();
    // Limits of a file's size in kilobytes, from less than the smallest to less than the largest; without the signal that
    // would end the process, writing beyond them fails as on a full disk.
    for most in ["1", "8", "64"] {
        let output = Command::new("bash")
            .args([
                "-c",
                "trap '' XFSZ; ulimit -f $1; shift; exec \"$@\"",
                "bash",
                most,
            ])
            .arg(program.get_program())
            .args(&arguments)
            .current_dir(planned.folder.path())
            .output()
            .expect("bash is there");
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert!(said(&output).contains("error: plan/"), "{}", said(&output));
        assert!(
            !said(&output).contains("mistake of its own"),
            "{}",
            said(&output)
        );
        assert!(
            planned.content() == before,
            "a limit of {most} KB changed the plan"
        );
        assert_eq!(planned.left(), Vec::<String>::new());
    }
}

#[test]
#[ignore = "mounts a file system, which only an administrator may"]
fn a_small_file_system_that_fills_up_leaves_the_old_plan() {
    let planned = Planned::new();
    let disk = planned.folder.path().join("disk");
    fs::create_dir(&disk).expect("a folder");
    let size: u64 = fs::metadata(planned.plan().join("schedule.csv"))
        .expect("a schedule")
        .len();
    // One plan fits, a second one beside it does not.
    let whole: u64 = planned
        .content()
        .values()
        .map(|bytes| bytes.len() as u64)
        .sum();
    let mount = Command::new("mount")
        .args([
            "-t",
            "tmpfs",
            "-o",
            &format!("size={}", whole + whole / 4 + size),
            "tmpfs",
        ])
        .arg(&disk)
        .status()
        .expect("mount is there");
    assert!(mount.success(), "this process may not mount");
    let onto_disk = |seed: &str| {
        let mut command = planned.command_onto("disk/plan", seed);
        command.output().expect("the program starts")
    };
    let first = onto_disk("1");
    let before = first.status.success().then(|| content(&disk.join("plan")));
    let second = onto_disk("2");
    let after = before.as_ref().map(|_| content(&disk.join("plan")));
    let names = fs::read_dir(&disk).map(Iterator::count);
    let unmount = Command::new("umount").arg(&disk).status();
    assert!(unmount.expect("umount is there").success());
    assert!(before.is_some(), "{}", said(&first));
    assert_eq!(second.status.code(), Some(2), "{}", said(&second));
    assert!(said(&second).contains("No space left"), "{}", said(&second));
    assert!(before == after, "a full disk changed the plan");
    assert_eq!(names.expect("the disk"), 1);
}
