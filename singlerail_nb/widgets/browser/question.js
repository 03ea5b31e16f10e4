// A question: a box, a button, and Python's verdict. The answer itself never comes here unasked.

import { button } from "./controls.js";
import { followTheme, freshId, html, setText } from "./dom.js";

function renderQuestion({ model, el }) {
  const ids = { box: freshId("answer"), hint: freshId("hint") };
  const verdict = html("p", { class: "srn-question-verdict", role: "status" });
  const answer = html("p", { class: "srn-question-verdict", role: "status" });
  const box = html("input", {
    type: "text", class: "srn-box srn-answer", id: ids.box, "aria-describedby": ids.hint, autocomplete: "off", spellcheck: "false",
    onkeydown: (event) => {
      event.stopPropagation();
      if (event.key === "Enter") send();
    },
  });
  const send = () => model.send({ type: "guess", text: box.value });
  const reveal = button("Reveal", "Show the answer", () => model.send({ type: "reveal" }));
  reveal.disabled = true;
  function receive(message) {
    if (message.type === "answer") return setText(answer, message.text);
    const sign = message.type === "unreadable" ? "?" : message.right ? "✓" : "✗";
    verdict.className = `srn-question-verdict ${message.right ? "srn-pass" : "srn-fail"}`;
    setText(verdict, `${sign} ${message.text}`);
    if (message.guess !== undefined && !box.value) box.value = message.guess;
    if (message.type === "verdict") reveal.disabled = false;
  }
  model.on("msg:custom", receive);
  const line = html("div", { class: "srn-bar" }, box, button("Check", "Check the answer", send), reveal);
  const hint = html("p", { class: "srn-note", id: ids.hint }, `Write it like this: ${model.get("example")}`);
  const root = html("div", { class: "srn srn-question" }, html("label", { for: ids.box }, model.get("prompt")), line, hint, verdict, answer);
  const stopTheme = followTheme(root);
  el.replaceChildren(root);
  return () => {
    stopTheme();
    model.off("msg:custom", receive);
  };
}

export { renderQuestion };
