"""What the browser tests do with a window."""

from __future__ import annotations

import base64
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PAPERS_IN = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
CLOCK = """
window.simulated = {{ms: {ms}, ticks: [], tones: 0, shaken: 0}};
Date.now = () => simulated.ms;
window.setInterval = (act) => simulated.ticks.push(act);
navigator.vibrate = () => {{ simulated.shaken += 1; return true; }};
window.AudioContext = class {{
  createOscillator() {{
    return {{frequency: {{}}, connect() {{}}, stop() {{}}, start() {{ simulated.tones += 1; }}}};
  }}
  close() {{}}
}};
"""
"""A clock that stands until it is moved, timers that run when it is, a bell that counts."""

NO_STORAGE = """
Object.defineProperty(window, "localStorage", {
  get() { throw new DOMException("denied", "SecurityError"); },
});
"""
SMALLEST = """
(root) => Math.min(...[...root.querySelectorAll("*")].flatMap((node) => {
  const own = [...node.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
  if (!own || !node.checkVisibility() || !node.getClientRects().length) return [];
  if (node.closest("option, template")) return [];
  const size = parseFloat(getComputedStyle(node).fontSize);
  const picture = node.closest("svg");
  return [picture ? size * picture.getScreenCTM().a : size];
}))
"""
"""The smallest letters that are shown inside an element, in pixels."""


@dataclass
class Window:
    """A browser on the served sheets; each `look` starts from nothing."""

    chrome: Any
    address: str
    shots: Path

    def look(
        self,
        page: str = "day.html",
        *,
        width: int = 390,
        dark: bool = False,
        scripts: bool = True,
        now_at: float | None = None,
        keeps: bool = True,
        anew: bool = True,
    ) -> None:
        """Open a page on a phone of some width; ``anew`` forgets what it kept before."""
        if anew:
            stores = {"origin": self.address, "storageTypes": "local_storage"}
            self.send("Storage.clearDataForOrigin", **stores)
        self.send("Emulation.setScriptExecutionDisabled", value=not scripts)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.send("Emulation.setEmulatedMedia", media="", features=[scheme])
        self.send(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=844,
            deviceScaleFactor=1,
            mobile=True,
        )
        self.logs("performance")
        self.logs("browser")
        source = "" if now_at is None else CLOCK.format(ms=round(now_at * 1000))
        source += "" if keeps else NO_STORAGE
        script = self.send("Page.addScriptToEvaluateOnNewDocument", source=source)
        self.chrome.get("about:blank")  # else another fragment of the same page opens nothing
        self.chrome.get(f"{self.address}/{page}")
        self.send("Page.removeScriptToEvaluateOnNewDocument", **script)

    def pass_time(self, seconds: float) -> None:
        """Move the simulated clock second by second for a minute, else in one step."""
        step = 1.0 if seconds <= 60.0 else seconds
        for _ in range(max(round(seconds / step), 1)):
            self.ask(f"simulated.ms += {1000 * step}; simulated.ticks.forEach((tick) => tick())")

    def smallest_letters(self, selector: str) -> float:
        """Return the size of the smallest letters shown in an element. [px]"""
        size = self.ask(f"({SMALLEST})(document.querySelector({json.dumps(selector)}))")
        return float(size)

    def send(self, command: str, **arguments: Any) -> Any:
        """Send one command of the browser's own protocol."""
        return self.chrome.execute_cdp_cmd(command, arguments)

    def ask(self, expression: str) -> Any:
        """Return the value of an expression in the page, also with its scripts off."""
        answer = self.send("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def logs(self, kind: str) -> list[dict[str, Any]]:
        """Return and clear a log."""
        return list(self.chrome.get_log(kind))

    def requests(self) -> list[str]:
        """Return the addresses asked for since the last `look`."""
        events = [json.loads(row["message"])["message"] for row in self.logs("performance")]
        return [
            event["params"]["request"]["url"]
            for event in events
            if event["method"] == "Network.requestWillBeSent"
        ]

    def keep_shot(self, name: str) -> Path:
        """Keep a picture of the whole page."""
        size = self.ask(
            "[document.documentElement.scrollWidth, document.documentElement.scrollHeight]"
        )
        clip = {"x": 0, "y": 0, "width": size[0], "height": size[1], "scale": 1}
        shot = self.send("Page.captureScreenshot", captureBeyondViewport=True, clip=clip)
        path = self.shots / f"{name}.png"
        path.write_bytes(base64.b64decode(shot["data"]))
        return path

    def pages_on(self, paper: str) -> int:
        """Print the page to a file and return how many sheets of paper it takes."""
        width, height = PAPERS_IN[paper]
        made = self.send(
            "Page.printToPDF", paperWidth=width, paperHeight=height, printBackground=True
        )
        content = base64.b64decode(made["data"])
        (self.shots / f"{paper}.pdf").write_bytes(content)
        return len(re.findall(rb"/Type\s*/Page\b", content))
