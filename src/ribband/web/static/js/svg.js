// Elements of a drawing.

const NS = "http://www.w3.org/2000/svg";

/**
 * Make an element of a drawing; attributes that are nothing or false are left off.
 * @param {string} tag @param {Record<string, any>} [more] @param {(Node|string)[]|string} [inside]
 */
export function svg(tag, more = {}, inside = []) {
  const made = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(more)) if (value !== null && value !== undefined && value !== false) made.setAttribute(name, String(value));
  made.append(...[inside].flat());
  return made;
}
