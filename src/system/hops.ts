/** Which fabrics a hop can be: one line each. */
import type { BuiltHop, HopRequest } from './hop.ts';
import { pcieHop, refusedHop } from './pcie-hop.ts';

export interface HopBuilder {
  build(request: HopRequest): BuiltHop;
  /** Why no clause gives the numbers of such a link; undefined where they are given. */
  refuse(request: HopRequest): string | undefined;
}

export const hopBuilders: Readonly<Record<'pcie', HopBuilder>> = {
  pcie: { build: pcieHop, refuse: refusedHop },
};
