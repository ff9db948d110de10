// Where a lot came from and where it went, as branches one under the other. Jars of one run that
// go the same way are one branch. Pure.

/**
 * @typedef {object} Branch
 * @property {string} key
 * @property {number} depth
 * @property {GraphNode[]} nodes one lot or run, or jars that go together
 * @property {TransferRecord[]} moves by which it came, or went
 * @property {boolean} again what lies beyond is told above already
 */

/** @param {GraphRecord} graph @param {"back" | "on"} direction @returns {Branch[]} */
export function branchesOf({ about, nodes, edges, transfers }, direction) {
  const named = new Map(nodes.map((node) => [node.id, node]));
  const moved = new Map(transfers.map((move) => [move.id, move]));
  const [here, there] = direction === "back" ? /** @type {const} */ (["to_id", "from_id"]) : /** @type {const} */ (["from_id", "to_id"]);
  const beyond = (/** @type {string} */ id) => [...new Set(edges.filter((edge) => edge[here] === id).map((edge) => edge[there]))];
  const told = new Set([about]);
  /** @type {Branch[]} */
  const found = [];

  /** @param {readonly string[]} from @param {number} depth */
  function follow(from, depth) {
    for (const group of grouped([...new Set(from.flatMap(beyond))], named, beyond)) {
      const ids = group.map(({ id }) => id);
      const moves = edges.flatMap((edge) => (from.includes(edge[here]) && ids.includes(edge[there]) && edge.transfer !== null ? (moved.get(edge.transfer) ?? []) : []));
      const again = ids.every((id) => told.has(id));
      found.push({ key: `${depth} ${from.join()} ${ids.join()}`, depth, nodes: group, moves, again: again && ids.some((id) => beyond(id).length > 0) });
      if (again) continue;
      ids.forEach((id) => told.add(id));
      follow(ids, depth + 1);
    }
  }
  follow([about], 0);
  return found;
}

/** @param {readonly string[]} ids @param {Map<string, GraphNode>} named @param {(id: string) => string[]} beyond @returns {GraphNode[][]} */
function grouped(ids, named, beyond) {
  /** @type {Map<string, GraphNode[]>} */
  const groups = new Map();
  for (const id of ids) {
    const node = named.get(id);
    if (!node) continue;
    const key = node.is_a === "jar" ? `${node.batch} ${beyond(id).sort().join()}` : id;
    groups.set(key, [...(groups.get(key) ?? []), node]);
  }
  return [...groups.values()];
}

/** How much went along a branch in all: each sum only where every part is known. @param {readonly TransferRecord[]} moves @returns {Holding | null} */
export function amountOf(moves) {
  if (moves.length === 0) return null;
  const sum = (/** @type {"volume_l" | "pure_alcohol_l"} */ name) => moves.reduce((/** @type {number | null} */ all, { at_20_c }) => (all === null || at_20_c[name] === null ? null : all + (at_20_c[name] ?? 0)), 0);
  const [volume_l, pure_alcohol_l] = [sum("volume_l"), sum("pure_alcohol_l")];
  return { volume_l, pure_alcohol_l, abv: volume_l && pure_alcohol_l !== null ? (100 * pure_alcohol_l) / volume_l : null };
}
