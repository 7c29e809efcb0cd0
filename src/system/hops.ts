/** Which fabrics a hop can be: one line each. */
import type { BuiltHop, HopRequest } from './hop.ts';
import { pcieHop } from './pcie-hop.ts';

export const hopBuilders: Readonly<Record<'pcie', (request: HopRequest) => BuiltHop>> = {
  pcie: pcieHop,
};
