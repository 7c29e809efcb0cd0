/** What is used of a package that brings no types. */
declare module 'wavedrom' {
  const wavedrom: {
    renderAny(index: number, source: unknown, skins: unknown): unknown;
    readonly onml: { stringify(tree: unknown): string };
  };
  export default wavedrom;
}
declare module 'wavedrom/skins/default.js' {
  const skins: unknown;
  export default skins;
}
