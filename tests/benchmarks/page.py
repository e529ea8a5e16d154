"""The day page on an emulated phone: its first view over a slow network, and a tap until it is repainted.

The phone is Chromium at 390 x 844 with the processor slowed four times; the network has 150 ms of latency, 1.6 Mbit/s
down and 750 kbit/s up, the usual stand-in for a slow mobile line ("Slow 4G", Google Chrome's guide to network
throttling). Blocking time is what tasks take above 50 ms each once something of the page is to be seen, of a task that
began before only what comes after (Google Chrome's "Total Blocking Time"); beside it stands the same sum from the
navigation on.
"""

import shutil
from statistics import median

import numpy as np
from playwright.sync_api import CDPSession, Page, sync_playwright

from tests.benchmarks.served import served_mix

SLOWED = 4
LATENCY_MS, DOWN_BYTES_S, UP_BYTES_S = 150, 1.6e6 / 8, 0.75e6 / 8
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-dev-shm-usage"]
PHONE = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 2, "is_mobile": True, "has_touch": True}

WATCH = """
window.__lcp = 0; window.__tasks = [];
new PerformanceObserver((list) => { for (const one of list.getEntries()) window.__lcp = one.startTime; })
  .observe({ type: "largest-contentful-paint", buffered: true });
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) window.__tasks.push([one.startTime, one.startTime + one.duration]);
}).observe({ type: "longtask", buffered: true });
"""
FOUND = """() => [
  window.__lcp, performance.getEntriesByName("first-contentful-paint")[0].startTime, window.__tasks,
  performance.getEntriesByType("navigation")[0].encodedBodySize,
]"""
LONG_MS = 50
# From the tap until the frame that shows the answer, wherever it can be seen, is painted: what a frame's callback
# leaves to do comes after it.
TAP = """
(selector) => new Promise((done) => {
  const begin = performance.now();
  document.addEventListener("htmx:afterSettle", () => requestAnimationFrame(() => setTimeout(
    () => done(performance.now() - begin))), { once: true });
  document.querySelector(selector).click();
})
"""
# The same for the tapped run alone, which does not wait for the answer.
SIGN = """
(selector) => new Promise((done) => {
  const begin = performance.now();
  document.querySelector(selector).click();
  requestAnimationFrame(() => setTimeout(() => done(performance.now() - begin)));
})
"""


def page_figures(runs: int, repeats: int) -> dict[str, float] | None:
    """Milliseconds and bytes of the day page of so many runs; None without a browser to try it in."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        return None
    with served_mix(runs) as (url, token, plan), sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
        firsts = [
            _first_view(browser.new_context(base_url=url, **PHONE).new_page(), token, plan) for _ in range(repeats)
        ]
        signs = _first_signs(browser.new_context(base_url=url, **PHONE).new_page(), token, plan, repeats * 2)
        taps, cpu = _taps(browser.new_context(base_url=url, **PHONE).new_page(), token, plan, repeats * 6)
        browser.close()
    return {
        "largest_paint_ms": median(one[0] for one in firsts),
        "blocked_ms": median(one[1] for one in firsts),
        "blocked_ever_ms": median(one[2] for one in firsts),
        "page_bytes": median(one[3] for one in firsts),
        "tap_shown_ms": median(signs),
        "tap_shown_worst_ms": max(signs),
        "tap_ms": median(taps),
        "tap_p95_ms": float(np.percentile(taps, 95)),
        "tap_worst_ms": max(taps),
        "tap_cpu_ms": median(cpu),
        "tap_cpu_p95_ms": float(np.percentile(cpu, 95)),
    }


def _first_view(page: Page, token: str, plan: str) -> tuple[float, float, float, float]:
    """Largest paint, blocking time since something is to be seen and in all, and compressed size of the HTML; with
    nothing kept from an earlier visit."""
    page.goto(f"/link/{token}")
    page.goto("about:blank")
    slow = _slowed(page)
    slow.send("Network.enable")
    slow.send("Network.clearBrowserCache")
    slow.send(
        "Network.emulateNetworkConditions",
        {"offline": False, "latency": LATENCY_MS, "downloadThroughput": DOWN_BYTES_S, "uploadThroughput": UP_BYTES_S},
    )
    page.add_init_script(WATCH)
    page.goto(plan, wait_until="load")
    page.wait_for_timeout(1500)
    largest_ms, seen_ms, tasks, size = page.evaluate(FOUND)
    page.context.close()
    return float(largest_ms), _blocked_ms(tasks, seen_ms), _blocked_ms(tasks, 0), float(size)


def _blocked_ms(tasks: list[tuple[float, float]], since_ms: float) -> float:
    return sum(max(end_ms - max(begin_ms, since_ms) - LONG_MS, 0) for begin_ms, end_ms in tasks)


def _taps(page: Page, token: str, plan: str, count: int) -> tuple[list[float], list[float]]:
    """From taps on runs in sight to their repaint, the network of the house being quick; and what they take of the
    page's thread in all, which other work of the machine does not change."""
    page.goto(f"/link/{token}")
    page.goto(plan)
    slow = _slowed(page)
    slow.send("Performance.enable", {"timeDomain": "threadTicks"})
    ids = page.evaluate("() => [...document.querySelectorAll('button.run')].map((one) => one.id)")
    taken, cpu = [], []
    for number in range(count + 2):
        run = f"#{ids[number % len(ids)]}"
        page.evaluate("(run) => document.querySelector(run).scrollIntoView({ block: 'center' })", run)
        page.wait_for_timeout(100)
        before_s = _busy_s(slow)
        taken.append(page.evaluate(TAP, run))
        cpu.append((_busy_s(slow) - before_s) * 1000)
    page.context.close()
    return [float(one) for one in taken[2:]], cpu[2:]


def _busy_s(session: CDPSession) -> float:
    metrics = session.send("Performance.getMetrics")["metrics"]
    return next(float(one["value"]) for one in metrics if one["name"] == "TaskDuration")


def _first_signs(page: Page, token: str, plan: str, count: int) -> list[float]:
    """Time from a tap on a run until the run itself is painted as switched, before any answer."""
    page.goto(f"/link/{token}")
    page.goto(plan)
    _slowed(page)
    ids = page.evaluate("() => [...document.querySelectorAll('button.run')].map((one) => one.id)")
    taken = []
    for number in range(count + 2):
        taken.append(page.evaluate(SIGN, f"#{ids[number % len(ids)]}"))
        page.wait_for_timeout(400)
    page.context.close()
    return [float(one) for one in taken[2:]]


def _slowed(page: Page) -> CDPSession:
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    return session
