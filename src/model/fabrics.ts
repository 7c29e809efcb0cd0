/** Identifiers of the fabrics that a hop can be. A fabric is added here and in `src/links/index.ts`. */
export type FabricId = 'pcie';

/**
 * Clocked buses, modelled or observed clock by clock: they have ledgers, but no hop of a network is one
 * yet. `stream` is an interface with a valid and ready handshake within a device.
 */
export type ClockedBusId = 'pci' | 'stream';
