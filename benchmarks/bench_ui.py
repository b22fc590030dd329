"""The app's elements: size of the bundle, and how many moves a second the site editor draws.

The editor is dragged in a real browser; the peer in the same run is the same number of bare
animation frames on the same page. One browser, one renderer process; best of three runs.
"""

from __future__ import annotations

import gzip
import shutil
import sys
import tempfile
import threading
import time
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
BUILT = ROOT / "src" / "pourwright" / "web" / "static" / "built"
LARGEST = 250_000
MOVES = 180
ARGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run "
    "--disable-background-networking --disable-component-update --disable-sync"
).split()

FRAMES = """n => new Promise(done => {
  const from = performance.now(); let k = 0;
  const next = () => (++k < n ? requestAnimationFrame(next) : done(performance.now() - from));
  requestAnimationFrame(next);
})"""
DRAG = """n => new Promise(done => {
  const knob = document.querySelector('[data-item="corner-2"] .pw-knob');
  const svg = knob.ownerSVGElement, box = knob.getBoundingClientRect();
  const x = box.x + box.width / 2, y = box.y + box.height / 2;
  const send = (to, type, dx, dy) => to.dispatchEvent(new PointerEvent(type, {
    bubbles: true, pointerId: 7, pointerType: 'touch', clientX: x + dx, clientY: y + dy }));
  send(knob, 'pointerdown', 0, 0);
  const from = performance.now(); let k = 0, busy = 0, seen = 0, was = '';
  const next = () => {
    const t = performance.now();
    const now = document.querySelector('.pw-plan .pw-face').getAttribute('d');
    if (now !== was) { seen += 1; was = now; }
    if (++k >= n) {
      send(svg, 'pointercancel', 0, 0);
      done([performance.now() - from, busy, seen]);
      return;
    }
    send(svg, 'pointermove', 40 * Math.sin(k / 3), 40 * Math.cos(k / 3));
    busy += performance.now() - t;
    requestAnimationFrame(next);
  };
  requestAnimationFrame(next);
})"""


def sizes() -> dict[str, tuple[int, int]]:
    """Plain and gzipped size of each built file [bytes]."""
    out = {}
    for f in sorted(BUILT.glob("*.js")):
        raw = f.read_bytes()
        out[f.name] = (len(raw), len(gzip.compress(raw, 9)))
    return out


def moves(chromium: str) -> tuple[float, float, float, int]:
    """Time of bare frames, of frames with drags [s], script time per move [s], outlines drawn."""
    import tomllib

    import uvicorn
    from fastapi.responses import HTMLResponse
    from playwright.sync_api import sync_playwright

    from pourwright.web.app import create_app
    from pourwright.web.settings import Settings

    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(data=Path(folder) / "data", port=8793, workers=False, demo=False)
        app = create_app(settings)
        text = (ROOT / "examples" / "galley.toml").read_text("utf-8")
        made = tomllib.loads(text)
        made.get("finish", {}).pop("score", None)
        made["site"]["start"] = date.today()
        app.state.store.jobs.create(made, {}, "bench", "bench", "galley")

        @app.get("/bare")
        def bare_page():  # type: ignore[no-untyped-def]
            return HTMLResponse(
                '<!doctype html><html lang="en"><title>Bench</title>'
                '<link rel="stylesheet" href="/static/app.css">'
                '<script type="module" src="/static/built/app.js"></script>'
                '<main><pw-site-editor job="galley"></pw-site-editor></main>'
            )

        server = uvicorn.Server(uvicorn.Config(app, port=8793, log_level="error"))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.05)
        with sync_playwright() as p:
            browser = p.chromium.launch(executable_path=chromium, args=ARGS)
            page = browser.new_page(viewport={"width": 1180, "height": 820})
            page.goto("http://127.0.0.1:8793/bare")
            page.locator('[data-item="corner-2"] .pw-knob').wait_for()
            bare = min(page.evaluate(FRAMES, MOVES) for _ in range(3)) / 1e3
            runs = [page.evaluate(DRAG, MOVES) for _ in range(3)]
            browser.close()
        server.should_exit = True
        thread.join(10)
    spent, busy, seen = min(runs)
    return bare, spent / 1e3, busy / 1e3 / MOVES, seen


def main() -> int:
    """Print the table; 1 when the bundle is too large."""
    files = sizes()
    if "app.js" not in files:
        print("not built; run scripts/build_ui.py first")
        return 0
    for name, (raw, small) in files.items():
        lazy = "" if name == "app.js" else "  (fetched on demand)"
        print(f"{name:10} {raw / 1e3:7.1f} kB, gzipped {small / 1e3:6.1f} kB{lazy}")
    small = files["app.js"][1]
    print(f"entry bundle / limit of {LARGEST // 1000} kB: {small / LARGEST:.2f}")
    chromium = shutil.which("chromium")
    if chromium is None:
        print("no chromium here: the editor was not timed")
    else:
        bare, spent, each, seen = moves(chromium)
        print(f"{MOVES} bare frames {bare:.2f} s, {MOVES} frames with a drag {spent:.2f} s:")
        print(
            f"  drag / bare {spent / bare:.2f}; {MOVES / spent:.0f} moves a second, {seen} outlines"
        )
        print(f"  handling a move takes {each * 1e3:.2f} ms of script")
    return 1 if small > LARGEST else 0


if __name__ == "__main__":
    sys.exit(main())
