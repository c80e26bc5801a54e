/** What the page's own modules ask of a browser, for node. Nothing is kept on a disk. Import it before them. */
const nothing = (): void => undefined;
/** How the page looks, as it was told. */
export const root = { removeAttribute: nothing, setAttribute: nothing };

Object.assign(globalThis, {
  document: { baseURI: "http://phone.test/", documentElement: root },
});
