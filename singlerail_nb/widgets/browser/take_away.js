// "Take away": the present stage as Python code, picture or live handout.

import { button } from "./controls.js";
import { download, html, rasterise, standaloneSvg } from "./dom.js";
import { codeQuantity } from "./quantities.js";

// A code cell that builds the present stage: {topology, supply, ...} are the payload's own.
export function pythonCode(payload, values) {
  const parts = payload.parts.map(({ name, unit }) => `    ${name}=${codeQuantity(values[name], unit)},`);
  const fixed = Object.entries(payload.code.arguments).map(([name, text]) => `    ${name}=${text},`);
  return ["import singlerail_nb as sr", "", "stage = sr.stage(", `    ${JSON.stringify(payload.code.topology)},`, ...fixed, ...parts, ")", "sr.panel(stage)", ""].join("\n");
}

// The design file: the payload's own document with the present values in it.
export function designFile(payload, values) {
  const { document } = payload;
  return JSON.stringify({ ...document, values: { ...document.values, ...values } }, null, 2) + "\n";
}

function pictures(panel) {
  const shown = [...panel.root.querySelectorAll(".srn-page:not(.srn-hidden) svg")];
  const background = getComputedStyle(panel.root).getPropertyValue("--paper");
  return shown.map((picture) => standaloneSvg(picture, background));
}

function codeDialog(panel) {
  const text = html("textarea", { class: "srn-code", rows: 18, readonly: true, "aria-label": "Python code of this stage", spellcheck: "false", onkeydown: (event) => event.stopPropagation() });
  text.value = pythonCode(panel.payload, panel.state.values);
  const copy = button("Copy", "Copy the code", async () => {
    text.select();
    await navigator.clipboard.writeText(text.value);
    copy.textContent = "Copied";
  });
  const dialog = html("dialog", { class: "srn-dialog", "aria-label": "Python code", onclose: () => dialog.remove() }, text, copy, button("Close", "Close", () => dialog.close()));
  panel.root.append(dialog);
  dialog.showModal();
}

function saveHandout(panel) {
  panel.onHandout = ({ name, html: page }) => download(name, page, "text/html");
  panel.link.post({ type: "handout" });
}

export function takeAway(panel) {
  const name = panel.payload.title.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "");
  const failed = (error) => panel.showErrors([{ text: `Take away: ${error.message}` }]);
  const numbered = (k, ending) => `${name}${k ? `-${k + 1}` : ""}.${ending}`;
  const choices = {
    "Python code": () => codeDialog(panel),
    "Design file": () => download(`${name}.json`, designFile(panel.payload, panel.state.values), "application/json"),
    "Picture, SVG": () => pictures(panel).forEach((markup, k) => download(numbered(k, "svg"), markup, "image/svg+xml")),
    "Picture, PNG": () => Promise.all(pictures(panel).map(async (markup, k) => download(numbered(k, "png"), await rasterise(markup), "image/png"))),
    ...(panel.link.alive ? { "Live handout": () => saveHandout(panel) } : {}),
  };
  const menu = html("details", { class: "srn-menu", onkeydown: (event) => event.key === "Escape" && (menu.open = false) }, html("summary", { class: "srn-button" }, "Take away"));
  const items = Object.entries(choices).map(([label, action]) => button(label, label, async () => {
    menu.open = false;
    try {
      await action();
    } catch (error) {
      failed(error);
    }
  }));
  menu.append(html("div", { class: "srn-menu-items" }, ...items));
  return menu;
}
