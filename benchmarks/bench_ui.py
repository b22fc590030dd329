"""The app's elements: size of the bundle, and how many moves a second the site editor draws.

The editor is dragged in a real browser, three pointer moves in every frame as a quick tablet sends
them; the peer in the same run is the same number of bare animation frames on the same page. One
browser, one renderer process, no graphics card; best of three runs. The rows below the first are
the same with the page's processor slowed down so many times (Chrome DevTools protocol,
Emulation.setCPUThrottlingRate), which stands for a slow tablet. Milliseconds a move are time of the
page's main thread (Performance.getMetrics, scaled to the unslowed processor), bare frames taken off.
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
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
BUILT = ROOT / "src" / "pourwright" / "web" / "static" / "built"
LARGEST = 250_000
MOVES = 180
SLOWED = (1, 4, 6)
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
    for (const i of [0.4, 0.7, 1])
      send(svg, 'pointermove', 40 * Math.sin((k + i) / 3), 40 * Math.cos((k + i) / 3));
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


def moves(chromium: str) -> list[tuple[int, float, float, float, int]]:
    """For each slowing: it, time of bare frames and of frames with drags [s], main thread per
    move [s], outlines drawn."""
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
            tools = page.context.new_cdp_session(page)
            tools.send("Performance.enable")
            rows = [slowed(page, tools, rate) for rate in SLOWED]
            browser.close()
        server.should_exit = True
        thread.join(10)
    return rows


def busy(tools: Any) -> float:
    """Time the page's main thread has worked so far [s]."""
    found = tools.send("Performance.getMetrics")["metrics"]
    return next(float(m["value"]) for m in found if m["name"] == "TaskDuration")


def slowed(page: Any, tools: Any, rate: int) -> tuple[int, float, float, float, int]:
    """One row of `moves` with the processor slowed `rate` times, best of three."""
    tools.send("Emulation.setCPUThrottlingRate", {"rate": rate})
    bare: list[tuple[float, float]] = []
    drags: list[tuple[float, float, int]] = []
    for _ in range(3):
        from_ = busy(tools)
        spent = page.evaluate(FRAMES, MOVES)
        mid = busy(tools)
        bare.append((spent / 1e3, mid - from_))
        spent, _, seen = page.evaluate(DRAG, MOVES)
        drags.append((spent / 1e3, busy(tools) - mid, seen))
    tools.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    each = (min(d[1] for d in drags) - min(b[1] for b in bare)) / MOVES / rate
    return rate, min(bare)[0], min(drags)[0], each, min(drags)[2]


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
        print(f"{MOVES} frames with a drag against {MOVES} bare ones, and the main thread's time:")
        for rate, bare, spent, each, seen in moves(chromium):
            print(
                f"  slowed x{rate}: drag / bare {spent / bare:.2f}; {MOVES / spent:.0f} moves a "
                f"second, {seen} outlines drawn, {each * 1e3:.2f} ms a move"
            )
    return 1 if small > LARGEST else 0


if __name__ == "__main__":
    sys.exit(main())
