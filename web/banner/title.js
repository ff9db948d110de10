// The tab's title begins with what calls, whatever the page itself writes there.

let prefix = "";

/** @param {string} text what the title is to begin with; empty: nothing */
export function setTitlePrefix(text) {
  const bare = document.title.startsWith(prefix) ? document.title.slice(prefix.length) : document.title;
  prefix = text;
  if (document.title !== prefix + bare) document.title = prefix + bare;
}

/** Put it back wherever a page has written its title anew. */
export function keepTitlePrefix() {
  const title = document.querySelector("title");
  if (!title) return;
  new MutationObserver(() => {
    if (!document.title.startsWith(prefix)) document.title = prefix + document.title;
  }).observe(title, { childList: true, characterData: true, subtree: true });
}
