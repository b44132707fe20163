"""The page's engine in a headless browser against the native program: the same jobs, the same digits.

    check_digits.py PROGRAM PAGE [--times]

PROGRAM is the native one, PAGE a page that `ionfall page --out PAGE` has written. Five jobs are solved in full by both: the
plaque on cells of 4 mm, a planar one, an axisymmetric one, one with a coat, one with a mesh. Every number of
`summary.json` but times and memory is compared; what differs by more than a part in 10^12 is listed and fails unless it
is below ROUNDING (a plus-minus: DIFFERENCE), and then why is told here:

The square root and the four rules are the same to the last bit everywhere, exponentials and logarithms are not: the native
program takes those of the system's library, the engine those that Rust brings along. They differ in the last of
sixteen digits. A solve ends at a residual of 1e-10, and what is left of it differs with every such digit.

--times solves the plaque on cells of 4 mm and on its own, natively with one thread and here, and prints the times.
"""

import argparse
import base64
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import time

sys.path.append(str(pathlib.Path(__file__).resolve().parents[1]))
from browser import browser

ROOT = pathlib.Path(__file__).resolve().parents[2]
EXACT = 1e-12
ROUNDING = 1e-10
# A plus-minus is the difference of answers that agree in several digits.
DIFFERENCE = 1e-8
# SI units. What balances leave, and the overpotential of what has none, is all rounding.
NOTHING = 1e-9
# Of the machine, not of the job.
OWN = {"seconds", "peak_memory_bytes", "grid_s", "field_s", "solve_s", "setup_s", "ionfall", "fingerprint"}
# What is left of the equations on the way to a solution is rounding from the second step on.
LEFT = {"residual_history"}

HOST = """
const [packed, files, text, what, done] = arguments;
(async () => {
  const bytes = Uint8Array.from(atob(packed), (c) => c.charCodeAt(0));
  const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const module = await WebAssembly.compile(await new Response(plain).arrayBuffer());
  let told = "";
  const env = { tell: (at, n) => { told = new TextDecoder().decode(new Uint8Array(made.exports.memory.buffer, at, n)); }, clock: () => performance.now() };
  const made = await WebAssembly.instantiate(module, { env });
  const ask = (request) => {
    const { memory, take, ask } = made.exports;
    const words = new TextEncoder().encode(JSON.stringify(request));
    const into = take(words.length);
    new Uint8Array(memory.buffer, into, words.length).set(words);
    const at = ask(words.length);
    const length = new DataView(memory.buffer).getUint32(at, true);
    return JSON.parse(new TextDecoder().decode(new Uint8Array(memory.buffer, at + 4, length)));
  };
  for (const [name, base64] of Object.entries(files)) ask({ ask: "file", name, base64 });
  const begun = performance.now();
  const reply = ask({ ask: "solve", text, cells: null, what });
  const seconds = (performance.now() - begun) / 1000;
  done(reply.ok ? { summary: JSON.stringify(reply.ok.summary), cells: reply.ok.cells, solve: reply.ok.seconds, seconds } : { wrong: JSON.stringify(reply) });
})().catch((e) => done({ wrong: String(e) }));
"""


def jobs():
    """Name, text, folder of the files it names."""
    examples, tests = ROOT / "examples", ROOT / "tests/cli/jobs"
    plaque = (examples / "plaque/plaque.toml").read_text()
    coarse = plaque.replace('finest = "1.5 mm"', 'finest = "4 mm"')
    assert coarse != plaque
    yield "plaque on 4 mm", coarse, examples / "plaque"
    for name, path in [
        ("planar strip", tests / "strip.toml"),
        ("axisymmetric disk", examples / "textbook/disk.toml"),
        ("coated strip", tests / "coated-strip.toml"),
        ("medal, a mesh", examples / "medal/medal.toml"),
    ]:
        yield name, path.read_text(), path.parent


def files_of(text, folder):
    names = re.findall(r'(?:file|picture) = "([^"]+)"', text)
    return {name: base64.b64encode((folder / name).read_bytes()).decode() for name in names}


def native(program, text, folder, more=()):
    """Summary of a run, and how long it took, s."""
    with tempfile.TemporaryDirectory() as room:
        job = folder / f".digits-{os.getpid()}.toml"
        job.write_text(text)
        try:
            begun = time.monotonic()
            command = [program, "run", job, "--out", room, *more]
            subprocess.run(command, check=True, capture_output=True, text=True)
            took = time.monotonic() - begun
        finally:
            job.unlink()
        return json.loads(pathlib.Path(room, "summary.json").read_text()), took


def differences(one, other, path=""):
    """Numbers that differ, and anything else that does: path and by how much of the number."""
    if isinstance(one, dict) and isinstance(other, dict):
        for key in sorted(set(one) | set(other)):
            if key not in OWN | LEFT:
                yield from differences(one.get(key), other.get(key), f"{path}.{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for n, pair in enumerate(zip(one, other)):
            yield from differences(*pair, f"{path}[{n}]")
    elif isinstance(one, (int, float)) and isinstance(other, (int, float)):
        large = max(abs(one), abs(other))
        off = abs(one - other) / max(large, 1e-300)
        if off > EXACT and large > NOTHING:
            yield path, off
    elif one != other and not (isinstance(one, str) and isinstance(other, str)):
        yield path, float("inf")


def is_difference(path):
    return path.startswith(".uncertainty") or "plus_minus" in path


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("page", type=pathlib.Path)
    parser.add_argument("--times", action="store_true")
    asked = parser.parse_args()
    packed = re.search(r'id="engine">\s*([^<\s]+)', asked.page.read_text()).group(1)
    driver = browser(tempfile.mkdtemp())
    driver.set_script_timeout(600)
    driver.get("about:blank")
    wrong = False

    def here(text, folder, what):
        reply = driver.execute_async_script(HOST, packed, files_of(text, folder), text, what)
        if "wrong" in reply:
            sys.exit(f"the engine has no answer: {reply['wrong'][:500]}")
        return reply

    if asked.times:
        for name, text in [(n, t) for n, t, _ in jobs() if n.startswith("plaque")] + [
            ("plaque as shipped", (ROOT / "examples/plaque/plaque.toml").read_text())
        ]:
            folder = ROOT / "examples/plaque"
            begun = here(text, folder, "quick")
            _, took = native(asked.program, text, folder, ["--threads", "1", "--plus-minus", "never"])
            print(f"{name}: {begun['cells']} cells, engine {begun['solve']:.2f} s, with its drawing {begun['seconds']:.2f} s; "
                  f"native, one thread, all files {took:.2f} s")
        driver.quit()
        return
    for name, text, folder in jobs():
        summary, _ = native(asked.program, text, folder)
        found = list(differences(summary, json.loads(here(text, folder, "full")["summary"])))
        worst = max((off for _, off in found), default=0.0)
        print(f"{name}: {len(found)} numbers differ beyond 12 digits, the most by {worst:.1e}")
        for path, off in sorted(found, key=lambda f: -f[1])[:5]:
            print(f"    {path} {off:.1e}")
        wrong |= any(off > (DIFFERENCE if is_difference(path) else ROUNDING) for path, off in found)
    driver.quit()
    sys.exit(1 if wrong else 0)


main()
