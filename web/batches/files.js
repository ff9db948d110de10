// A batch's own tables, each as a file for a spreadsheet; its runs' are on their pages.

import { make } from "../shared/dom.js";
import { say } from "../texts.js";

/** The tables of all its data, as the service names them. */
const FILES = ["entries", "balance", "lots", "numbers"];

/** @param {{id: string, name: string}} batch */
export function filesOf({ id, name }) {
  return make("p", { class: "others" }, ...FILES.map((table) => {
    const said = say(`batch.file.${table}`);
    return make("a", { class: "quiet", href: `api/reviews/batches/${id}/${table}.csv`, download: `${name} ${said}.csv` }, said);
  }));
}
