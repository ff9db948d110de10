// Where a lot, or a jar, came from and where it went, as it is drawn.

import { make } from "../shared/dom.js";
import { say } from "../texts.js";
import { amountOf, branchesOf } from "./graph.js";
import { shortText } from "./tell.js";

const MOST = 30; // before the rest is folded away
const DEEPEST = 5; // a phone has no room to indent further

/** @param {GraphRecord | null} graph */
export function drawKin(graph) {
  if (!graph) return [];
  return /** @type {const} */ (["back", "on"]).flatMap((direction) => {
    const branches = branchesOf(graph, direction);
    const heading = make("h2", {}, say(`kin.${direction}`));
    if (branches.length === 0) return [heading, make("p", { class: "hint" }, say(`kin.${direction}.none`))];
    const [near, far] = [branches.slice(0, MOST), branches.slice(MOST)];
    return [heading, list(near, graph.about), ...(far.length > 0 ? [make("details", {}, make("summary", {}, say("kin.more", { count: far.length })), list(far, graph.about))] : [])];
  });
}

/** @param {readonly import("./graph.js").Branch[]} branches @param {string} about */
function list(branches, about) {
  return make("ul", { class: "kin" }, ...branches.map(({ depth, nodes, moves, again }) => {
    const amount = amountOf(moves);
    return make("li", { "data-depth": Math.min(depth, DEEPEST), "data-is": nodes[0]?.is_a ?? "lot" },
      make("span", { class: "who" }, ...nodesOf(nodes, about), make("small", {}, kindText(nodes[0], again))),
      ...(amount ? [make("b", {}, shortText(amount))] : []));
  }));
}

/** @param {GraphNode | undefined} node @param {boolean} again */
function kindText(node, again) {
  if (!node) return "";
  const kind = node.is_a === "lot" ? say(`lot.${node.kind}`) : node.is_a === "run" ? say(`stage.${node.kind}`) : (node.batch ?? "");
  return again ? say("kin.again", { kind }) : kind;
}

/** @param {readonly GraphNode[]} nodes @param {string} about */
function nodesOf(nodes, about) {
  if (nodes.length === 1) return nodes.flatMap((node) => [nodeLink(node, about, nodeName(node)), " "]);
  return [say("kin.jars"), " ", ...nodes.flatMap((node) => [nodeLink(node, about, node.name.replace(/^\D+/, "")), " "])];
}

/** @param {GraphNode} node @param {string} about @param {string} text */
function nodeLink({ id, is_a }, about, text) {
  if (id === about) return make("b", {}, text);
  if (is_a === "run") return make("span", {}, text);
  return make("a", { href: `${is_a}.html?id=${id}` }, text);
}

/** @param {GraphNode} node */
export function nodeName({ is_a, name, kind, batch }) {
  return is_a === "run" ? say("kin.run", { batch: batch ?? "", purpose: say(`stage.${kind}`) }) : name;
}
