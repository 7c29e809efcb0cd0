import { type Connector, type ConnectorId, connectorIds } from '../system/parts.ts';
import type { SeatedContext } from './rule.ts';

/** One connector position with both halves there. */
export interface MatedPair {
  readonly connector: ConnectorId;
  readonly module: Connector;
  readonly site: Connector;
}

/** Positions fitted on both sides, in order P11 to P16. */
export function matedPairs(c: SeatedContext): readonly MatedPair[] {
  const pairs: MatedPair[] = [];
  for (const connector of connectorIds) {
    const module = c.module.connectors[connector];
    const site = c.site.connectors[connector];
    if (module !== undefined && site !== undefined) pairs.push({ connector, module, site });
  }
  return pairs;
}
