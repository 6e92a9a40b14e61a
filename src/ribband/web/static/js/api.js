// The API's own page, made from /openapi.json; nothing is fetched from outside.
import { el } from "/static/js/ask.js";

const whole = await (await fetch("/openapi.json")).json();
const box = document.getElementById("calls");

/** Write a schema out in short, following references two deep. */
function shape(schema, deep = 0) {
  if (!schema) return "";
  if (schema.$ref) {
    const name = schema.$ref.split("/").pop();
    return deep > 2 ? name : shape(whole.components.schemas[name], deep + 1);
  }
  if (schema.anyOf) return schema.anyOf.map((s) => shape(s, deep)).join(" | ");
  if (schema.enum) return schema.enum.map((v) => JSON.stringify(v)).join(" | ");
  if (schema.const !== undefined) return JSON.stringify(schema.const);
  if (schema.type === "array") return `[${shape(schema.items, deep) || "any"}]`;
  if (schema.properties) {
    const pad = "  ".repeat(deep + 1);
    const own = Object.entries(schema.properties).map(([n, s]) => `${pad}${n}: ${shape(s, deep + 1)}${(schema.required || []).includes(n) ? "" : "  (may be left out)"}`);
    return `{\n${own.join("\n")}\n${"  ".repeat(deep)}}`;
  }
  return schema.type || "any";
}

function call(path, method, what) {
  const asked = what.requestBody?.content;
  const parts = (what.parameters || []).map((p) => `${p.name} (${p.in}): ${shape(p.schema)}${p.required ? "" : "  (may be left out)"}`);
  const answer = what.responses?.["200"]?.content;
  const made = el("details", { class: "call sheet", "data-find": `${path} ${method} ${what.summary} ${what.description}`.toLowerCase() }, [
    el("summary", {}, [el("span", { class: "method" }, [method.toUpperCase()]), el("code", {}, [path]), el("span", {}, [(what.description || what.summary || "").replaceAll("`", "")])]),
  ]);
  made.addEventListener("toggle", () => made.append(
    ...(parts.length ? [el("h3", {}, ["Asked with"]), el("pre", { tabindex: "0" }, [parts.join("\n")])] : []),
    ...(asked ? Object.entries(asked).flatMap(([kind, a]) => [el("h3", {}, [`Body, ${kind}`]), el("pre", { tabindex: "0" }, [shape(a.schema)])]) : []),
    ...(answer ? Object.entries(answer).flatMap(([kind, a]) => [el("h3", {}, [`Answer, ${kind}`]), el("pre", { tabindex: "0" }, [shape(a.schema)])]) : []),
  ), { once: true });
  return made;
}

const byTag = {};
for (const [path, methods] of Object.entries(whole.paths)) {
  for (const [method, what] of Object.entries(methods)) (byTag[(what.tags || ["other"])[0]] ||= []).push(call(path, method, what));
}
box.replaceChildren(...Object.entries(byTag).map(([tag, calls]) => el("section", { class: "stack" }, [el("h2", {}, [tag]), ...calls])));
box.removeAttribute("aria-busy");
document.getElementById("find").addEventListener("input", (event) => {
  for (const one of box.querySelectorAll(".call")) one.hidden = !one.dataset.find.includes(event.target.value.toLowerCase());
});
