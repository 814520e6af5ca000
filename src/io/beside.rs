//! The place beside an output folder where it is written: made, exchanged for the old one in one step, cleared away.
//!
//! Knows nothing of what is in the folder. A run that is killed or meets a full disk at any moment leaves the old folder
//! whole; what it left beside it is cleared away by the next run. A place is in use while its mark is locked: the
//! operating system gives the lock up when the process ends, however it ends.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// How the names of all places begin.
const PREFIX: &str = ".polewright-";
/// The file in a place that is locked while the place is in use; it holds the path of the folder that is written.
const MARK: &str = "in_use";
/// The folder in a place that is being written; after the exchange it is the old one.
const NEW: &str = "new";
/// Where the old folder waits where the file system cannot exchange two folders in one step.
const OLD: &str = "old";
/// How often a place is made anew because another run took it for a left one in the moment before it was locked.
const TRIES: usize = 10;

/// A place in use. It is cleared away when it goes out of scope.
#[derive(Debug)]
pub(super) struct Beside {
    place: PathBuf,
    /// Holds the lock.
    _mark: File,
}

impl Beside {
    /// A place in `parent` for the folder that will stand at `target`; clears away what killed runs left in `parent` and
    /// above it.
    pub(super) fn begin(parent: &Path, target: &Path) -> io::Result<Self> {
        parent.ancestors().for_each(sweep);
        for _ in 1..TRIES {
            match Self::make(parent, target) {
                Err(cause) if cause.kind() == io::ErrorKind::NotFound => {}
                made => return made,
            }
        }
        Self::make(parent, target)
    }

    fn make(parent: &Path, target: &Path) -> io::Result<Self> {
        let named = tempfile::Builder::new().prefix(PREFIX).tempdir_in(parent)?;
        // From here on it is cleared away in an order of its own.
        let place = named.keep();
        let marked = || -> io::Result<File> {
            let path = place.join(MARK);
            let mut mark = File::create_new(&path)?;
            match mark.lock() {
                // Where nothing can be locked, nobody takes the place for a left one either.
                Err(cause) if cause.kind() != io::ErrorKind::Unsupported => return Err(cause),
                _ => {}
            }
            // Another run may have cleared it away before it was locked; then the path is gone, and this fails.
            fs::metadata(&path)?;
            mark.write_all(target.to_str().unwrap_or_default().as_bytes())?;
            // With the rights that a folder normally gets: it becomes the output.
            fs::create_dir(place.join(NEW))?;
            Ok(mark)
        };
        match marked() {
            Ok(mark) => Ok(Self { place, _mark: mark }),
            Err(cause) => {
                let _ = clear(&place);
                Err(cause)
            }
        }
    }

    /// The folder to write into.
    pub(super) fn folder(&self) -> PathBuf {
        self.place.join(NEW)
    }

    /// Puts the written folder where `target` is, and clears what stood there away.
    ///
    /// # Errors
    /// When it cannot be done; then what stood there stands there still.
    pub(super) fn exchange(self, target: &Path) -> io::Result<()> {
        let new = self.folder();
        settle_all(&new)?;
        let parent = target.parent().unwrap_or(Path::new("/"));
        if target.exists() {
            match in_one_step(&new, target) {
                Err(cause) if cannot(&cause) => self.in_two_steps(target)?,
                done => done?,
            }
        } else {
            fs::create_dir_all(parent)?;
            fs::rename(&new, target)?;
        }
        settle(parent)
    }

    /// For file systems that cannot exchange. A run that is killed between the steps leaves the old folder in the place,
    /// and the next run puts it back.
    fn in_two_steps(&self, target: &Path) -> io::Result<()> {
        let old = self.place.join(OLD);
        fs::rename(target, &old)?;
        fs::rename(self.folder(), target).or_else(|cause| {
            fs::rename(&old, target)?;
            Err(cause)
        })
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        // What cannot be cleared away now is left to the next run.
        let _ = clear(&self.place);
    }
}

/// Exchanges two folders: at no moment is there none at either path.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
fn in_one_step(new: &Path, target: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    renameat_with(CWD, new, CWD, target, RenameFlags::EXCHANGE).map_err(io::Error::from)
}

/// Elsewhere the operating system has no such call.
#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
fn in_one_step(_: &Path, _: &Path) -> io::Result<()> {
    Err(io::ErrorKind::Unsupported.into())
}

/// Whether the file system said that it cannot exchange, and not that this exchange failed.
fn cannot(cause: &io::Error) -> bool {
    // Older file systems call a flag that they do not know an invalid argument.
    matches!(
        cause.kind(),
        io::ErrorKind::Unsupported | io::ErrorKind::InvalidInput
    )
}

/// Makes sure that a folder's names have reached the disk, so that a power cut cannot keep the exchange and lose what it
/// brought. Where folders cannot be opened there is nothing to be done.
fn settle(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// The same for a folder and the folders in it.
fn settle_all(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            settle_all(&entry.path())?;
        }
    }
    settle(folder)
}

/// Clears a place away: the mark last but one, so that what a kill leaves of it is still known for a left place.
fn clear(place: &Path) -> io::Result<()> {
    for inner in [NEW, OLD] {
        let inner = place.join(inner);
        // A link is removed, not followed.
        match fs::symlink_metadata(&inner) {
            Ok(is) if is.is_dir() => fs::remove_dir_all(&inner)?,
            Ok(_) => fs::remove_file(&inner)?,
            Err(_) => {}
        }
    }
    let mark = place.join(MARK);
    if mark.exists() {
        fs::remove_file(mark)?;
    }
    fs::remove_dir(place)
}

/// Clears away the places in `folder` that nobody uses any more; what cannot be read or removed stays.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let is_place = entry.file_name().to_string_lossy().starts_with(PREFIX)
            && entry.file_type().is_ok_and(|kind| kind.is_dir());
        if is_place {
            let _ = sweep_place(&entry.path());
        }
    }
}

fn sweep_place(place: &Path) -> io::Result<()> {
    let Ok(mark) = File::open(place.join(MARK)) else {
        // Killed before it was marked, or after the mark was removed: it is empty. Anything else is not ours.
        return fs::remove_dir(place);
    };
    if mark.try_lock().is_err() {
        return Ok(());
    }
    let old = place.join(OLD);
    if old.exists() {
        let target = PathBuf::from(fs::read_to_string(place.join(MARK))?);
        let own = target.is_absolute() && target.parent() == place.parent();
        if !own {
            return Ok(());
        }
        if !target.exists() {
            fs::rename(&old, &target)?;
        }
    }
    clear(place)
}

/// Writes a file beside its path and then renames it, so that nobody ever sees half of it. A file that is there already
/// is replaced.
///
/// # Errors
/// When it cannot be written; then what was there is there still.
pub fn write_whole(path: &Path, text: &str) -> io::Result<()> {
    let absolute = std::path::absolute(path)?;
    let parent = absolute.parent().unwrap_or(Path::new("/"));
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The rights that a file normally gets.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(parent)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    file.persist(&absolute).map_err(|failed| failed.error)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{Beside, MARK, NEW, OLD, in_one_step, write_whole};
    use std::fs::{self, File};
    use std::path::{Path, PathBuf};
    use tempfile::TempDir;

    /// A folder with an old output in it.
    fn with_old() -> (TempDir, PathBuf) {
        let scratch = tempfile::tempdir().expect("a temporary folder");
        let target = scratch.path().join("plan");
        fs::create_dir(&target).expect("a folder");
        fs::write(target.join("a"), "old").expect("a file");
        (scratch, target)
    }

    fn begun(scratch: &TempDir, target: &Path) -> Beside {
        let beside = Beside::begin(scratch.path(), target).expect("a place");
        fs::write(beside.folder().join("a"), "new").expect("a file");
        beside
    }

    /// A place as a process that was killed leaves it: unlocked, and not cleared away.
    fn killed(scratch: &TempDir, target: &Path) -> PathBuf {
        let left = scratch.path().join(".polewright-left");
        fs::create_dir_all(left.join(NEW)).expect("a folder");
        fs::write(left.join(NEW).join("a"), "half").expect("a file");
        fs::write(left.join(MARK), target.to_str().expect("a text")).expect("a mark");
        left
    }

    fn content(target: &Path) -> String {
        fs::read_to_string(target.join("a")).expect("the file")
    }

    fn entries(scratch: &TempDir) -> usize {
        fs::read_dir(scratch.path()).expect("a folder").count()
    }

    #[test]
    fn two_folders_change_places_and_the_old_one_is_cleared_away() {
        let (scratch, target) = with_old();
        let beside = begun(&scratch, &target);
        assert_eq!(content(&target), "old");
        beside.exchange(&target).expect("an exchange");
        assert_eq!(content(&target), "new");
        assert_eq!(entries(&scratch), 1);
    }

    #[test]
    fn where_nothing_can_be_exchanged_two_steps_do() {
        let (scratch, target) = with_old();
        let beside = begun(&scratch, &target);
        beside.in_two_steps(&target).expect("two steps");
        drop(beside);
        assert_eq!(content(&target), "new");
        assert_eq!(entries(&scratch), 1);
    }

    #[test]
    fn two_steps_that_fail_leave_the_old_folder() {
        let (scratch, target) = with_old();
        let beside = begun(&scratch, &target);
        fs::remove_dir_all(beside.folder()).expect("gone");
        beside
            .in_two_steps(&target)
            .expect_err("there is no folder");
        assert_eq!(content(&target), "old");
    }

    #[test]
    fn the_next_run_clears_away_what_a_killed_one_left_also_above() {
        let (scratch, target) = with_old();
        let left = killed(&scratch, &target);
        let inner = scratch.path().join("deep");
        fs::create_dir(&inner).expect("a folder");
        let beside = Beside::begin(&inner, &inner.join("plan")).expect("a place");
        assert!(!left.exists());
        assert_eq!(content(&target), "old");
        drop(beside);
        assert_eq!(entries(&scratch), 2);
    }

    #[test]
    fn the_next_run_puts_back_what_a_killed_one_had_moved_away() {
        let (scratch, target) = with_old();
        let left = killed(&scratch, &target);
        fs::rename(&target, left.join(OLD)).expect("the first of two steps");
        drop(Beside::begin(scratch.path(), &target).expect("a place"));
        assert_eq!(content(&target), "old");
        assert_eq!(entries(&scratch), 1);
    }

    #[test]
    fn an_old_folder_of_which_nobody_knows_where_it_stood_is_not_removed() {
        let (scratch, target) = with_old();
        let left = killed(&scratch, Path::new("/elsewhere/plan"));
        fs::rename(&target, left.join(OLD)).expect("the first of two steps");
        drop(Beside::begin(scratch.path(), &target).expect("a place"));
        assert_eq!(content(&left.join(OLD)), "old");
    }

    #[test]
    fn a_place_in_use_and_what_is_not_ours_are_left_alone() {
        let (scratch, target) = with_old();
        let own = killed(&scratch, &target);
        let strange = scratch.path().join(".polewright-notes");
        fs::create_dir(&strange).expect("a folder");
        fs::write(strange.join("mine"), "mine").expect("a file");
        let in_use = File::open(own.join(MARK)).expect("a mark");
        in_use.lock().expect("a lock");
        drop(Beside::begin(scratch.path(), &target).expect("a place"));
        assert!(own.join(NEW).join("a").exists());
        assert!(strange.join("mine").exists());
        drop(in_use);
        drop(Beside::begin(scratch.path(), &target).expect("a place"));
        assert!(!own.exists());
        assert!(strange.join("mine").exists());
    }

    #[cfg(any(target_os = "linux", target_vendor = "apple"))]
    #[test]
    fn a_failed_exchange_changes_nothing() {
        let (scratch, target) = with_old();
        in_one_step(&scratch.path().join("none"), &target).expect_err("there is no new folder");
        assert_eq!(content(&target), "old");
    }

    #[test]
    fn a_file_is_replaced_whole() {
        let scratch = tempfile::tempdir().expect("a temporary folder");
        let path = scratch.path().join("a.toml");
        for text in ["one", "two"] {
            write_whole(&path, text).expect("a file");
            assert_eq!(fs::read_to_string(&path).expect("a file"), text);
        }
        assert_eq!(entries(&scratch), 1);
    }
}
