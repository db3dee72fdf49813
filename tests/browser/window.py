"""What the browser tests do with a window."""

from __future__ import annotations

import base64
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PAPERS_IN = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
NOW_SCRIPT = "Date.now = function () {{ return {ms}; }};"


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
        now_s: float | None = None,
    ) -> None:
        """Open a page on a phone of some width."""
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
        script = None
        if now_s is not None:
            source = NOW_SCRIPT.format(ms=round(now_s * 1000))
            script = self.send("Page.addScriptToEvaluateOnNewDocument", source=source)
        self.chrome.get(f"{self.address}/{page}")
        if script is not None:
            self.send("Page.removeScriptToEvaluateOnNewDocument", **script)

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
