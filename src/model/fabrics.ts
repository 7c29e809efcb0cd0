/** Identifiers of the fabrics that a hop can be. A fabric is added here and in `src/links/index.ts`. */
export type FabricId = 'pcie';
