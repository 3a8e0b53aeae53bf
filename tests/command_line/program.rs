//! Finds, or builds, the binary and runs it.
//!
//! Cargo tells a test only where the binaries of its own package are, and this one is another's. So cargo is asked to
//! build it, once, as these tests were built: same target folder, profile and triple. After `cargo test --workspace`
//! there is next to nothing left to do.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::OnceLock;
use std::thread::sleep;
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// A build from nothing takes a minute or two; more means that something hangs, perhaps the lock of another build.
const LONGEST_BUILD: Duration = Duration::from_secs(900);
/// A run takes seconds.
const LONGEST_RUN: Duration = Duration::from_secs(300);

/// What a run of the program left behind.
pub(crate) struct Done {
    pub(crate) code: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Done {
    /// The same, where the exit code is what it should be.
    #[track_caller]
    pub(crate) fn with_code(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "{}{}", self.stdout, self.stderr);
        self
    }
}

/// Runs `springhouse` in a folder. It has no terminal and no colours.
pub(crate) fn springhouse<S: AsRef<std::ffi::OsStr>>(folder: &Path, args: impl IntoIterator<Item = S>) -> Done {
    let mut command = Command::new(binary());
    command.current_dir(folder).args(args).env("NO_COLOR", "1").env_remove("CLICOLOR_FORCE");
    let done = finished(command, LONGEST_RUN);
    assert!(!done.stderr.contains("panicked"), "{}", done.stderr);
    done
}

/// Begins `springhouse` in a folder and does not wait for it.
pub(crate) fn started<const N: usize>(folder: &Path, args: [&str; N]) -> Child {
    let mut command = Command::new(binary());
    command.current_dir(folder).args(args).env("NO_COLOR", "1").stdin(Stdio::null());
    command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
}

/// Runs a script of the shell in a folder; the program is its `$0`.
#[cfg(unix)]
pub(crate) fn shell(folder: &Path, script: &str) -> Done {
    let mut command = Command::new("bash");
    command.current_dir(folder).arg("-c").arg(script).arg(binary()).env("NO_COLOR", "1");
    finished(command, LONGEST_RUN)
}

/// `springhouse run` of a scenario wherever it stands.
pub(crate) fn run(folder: &Path, scenario: &Path, args: &[&str]) -> Done {
    let scenario = scenario.to_str().expect("the path is text");
    springhouse(folder, ["run", scenario].iter().chain(args))
}

/// The folder of the repository.
pub(crate) fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the tests are a folder of the repository")
}

fn binary() -> &'static Path {
    static BINARY: OnceLock<PathBuf> = OnceLock::new();
    BINARY.get_or_init(build)
}

fn build() -> PathBuf {
    let this = std::env::current_exe().unwrap();
    // target/[triple/]profile/deps/this
    let profile_folder = this.ancestors().nth(2).expect("a test lies in the target folder");
    // Cargo marks the folder it makes, not one that was there already.
    let marked = this.ancestors().find(|folder| folder.join("CACHEDIR.TAG").is_file());
    let target = marked.or(profile_folder.parent()).expect("a profile lies in the target folder");
    let name = profile_folder.file_name().and_then(|name| name.to_str()).expect("a profile has a name");
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| env!("CARGO").into()));
    command.current_dir(repository()).args(["build", "--quiet", "--package", "springhouse", "--bin", "springhouse"]);
    command.args(["--profile", if name == "debug" { "dev" } else { name }]).arg("--target-dir").arg(target);
    if let Some(triple) = profile_folder.parent().filter(|folder| *folder != target).and_then(Path::file_name) {
        command.arg("--target").arg(triple);
    }
    let built = finished(command, LONGEST_BUILD);
    assert_eq!(built.code, Some(0), "the binary cannot be built:\n{}", built.stderr);
    profile_folder.join(format!("springhouse{}", std::env::consts::EXE_SUFFIX))
}

/// Waits for a command, but not for ever. Its words go through files: a full pipe would stop it.
fn finished(mut command: Command, longest: Duration) -> Done {
    let folder = TempDir::new().unwrap();
    let [stdout, stderr] = ["stdout", "stderr"].map(|name| folder.path().join(name));
    command.stdin(Stdio::null()).stdout(File::create(&stdout).unwrap()).stderr(File::create(&stderr).unwrap());
    let mut child = command.spawn().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    let status = waited(&mut child, longest).unwrap_or_else(|| panic!("{command:?} takes more than {longest:?}"));
    let said = |path| String::from_utf8(std::fs::read(path).unwrap()).expect("the program speaks UTF-8");
    Done { code: status.code(), stdout: said(stdout), stderr: said(stderr) }
}

fn waited(child: &mut Child, longest: Duration) -> Option<ExitStatus> {
    let end = Instant::now() + longest;
    while Instant::now() < end {
        if let Some(status) = child.try_wait().unwrap() {
            return Some(status);
        }
        sleep(Duration::from_millis(2));
    }
    // It may have ended by itself meanwhile, which is as good.
    let _ = child.kill();
    child.wait().unwrap();
    None
}
