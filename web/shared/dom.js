// Small helpers for pages built without a framework.

/**
 * Make an element. Attributes that are true stand bare, those that are false, null or undefined
 * are left out; children are nodes or texts.
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {Record<string, string | number | boolean | null | undefined>} [attributes]
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[Tag]}
 */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  setAttributes(element, attributes);
  element.append(...children);
  return element;
}

/**
 * Make an element of an SVG picture.
 * @template {keyof SVGElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {Record<string, string | number | boolean | null | undefined>} [attributes]
 * @returns {SVGElementTagNameMap[Tag]}
 */
export function makeSvg(tag, attributes = {}) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  setAttributes(element, attributes);
  return element;
}

/**
 * @param {Element} element
 * @param {Record<string, string | number | boolean | null | undefined>} attributes
 */
export function setAttributes(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) element.removeAttribute(name);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
}

/**
 * Change a text only where it differs, so that nothing is repainted or re-announced for nothing.
 * @param {Node} node
 * @param {string} text
 */
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/**
 * Find an element that must be there.
 * @param {ParentNode} root
 * @param {string} selector
 * @returns {HTMLElement}
 */
export function find(root, selector) {
  const element = root.querySelector(selector);
  if (!(element instanceof HTMLElement)) throw new Error(`the page has no ${selector}`);
  return element;
}

/**
 * Send a verb upwards: something was asked for.
 * @param {Element} from
 * @param {string} verb
 * @param {unknown} [detail]
 */
export function ask(from, verb, detail) {
  from.dispatchEvent(new CustomEvent(verb, { bubbles: true, detail }));
}

/**
 * Send a noun downwards: something is now so.
 * @param {Iterable<Element>} to
 * @param {string} noun
 * @param {unknown} detail
 */
export function tell(to, noun, detail) {
  for (const element of to) element.dispatchEvent(new CustomEvent(noun, { detail }));
}

/**
 * Listen to a noun or a verb with its detail's type.
 * @template T
 * @param {EventTarget} target
 * @param {string} name
 * @param {(detail: T) => void} act
 */
export function on(target, name, act) {
  target.addEventListener(name, (event) => act(/** @type {CustomEvent<T>} */ (event).detail));
}

/**
 * Keep one child per item of a list, in its order, reusing those that are there already.
 * @template T
 * @param {Element} parent
 * @param {readonly T[]} items
 * @param {(item: T) => string} keyOf
 * @param {(item: T) => Element} makeOne
 * @param {(element: Element, item: T, index: number) => void} update
 */
export function keepList(parent, items, keyOf, makeOne, update) {
  const old = new Map([...parent.children].map((child) => [child.getAttribute("data-key"), child]));
  items.forEach((item, index) => {
    const key = keyOf(item);
    const element = old.get(key) ?? makeOne(item);
    old.delete(key);
    element.setAttribute("data-key", key);
    if (parent.children[index] !== element) parent.insertBefore(element, parent.children[index] ?? null);
    update(element, item, index);
  });
  for (const gone of old.values()) gone.remove();
}
