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
  return connectorIds.flatMap((connector) => {
    const module = c.module.connectors[connector];
    const site = c.site.connectors[connector];
    return module === undefined || site === undefined ? [] : [{ connector, module, site }];
  });
}
