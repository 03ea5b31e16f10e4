"""Runs pieces of the view script outside a browser."""

import json
import subprocess

from singlerail_nb.widgets import bundle

RUN = """
import {{ readFileSync }} from "node:fs";
const view = await import({module});
const data = JSON.parse(readFileSync(0, "utf8"));
const infinite = (key, value) => (typeof value === "number" && !isFinite(value) ? String(value) : value);
const compute = (view, data) => {{ {body} }};
process.stdout.write(JSON.stringify(await compute(view, data), infinite));
"""


def run(node, folder, body, data):
    """Return what a function body makes of `view` (the exports of the script) and `data`."""
    module = folder / "view.mjs"
    module.write_text(bundle.script(), encoding="utf-8")
    program = RUN.format(module=json.dumps(module.as_uri()), body=body)
    done = subprocess.run(
        [node, "--input-type=module", "-e", program],
        input=json.dumps(data), capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
