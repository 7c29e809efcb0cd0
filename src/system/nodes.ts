/** Parts on the path of a case, in order, and what the path as a whole allows. */
import { bytes } from '../quantity/index.ts';
import type { Case } from './case.ts';
import type { PcieFunction } from './parts.ts';

/** A part on the path: its port that faces the module, and the one that faces the host. */
export interface PathNode {
  readonly owner: string;
  readonly facesModule: PcieFunction | undefined;
  readonly facesHost: PcieFunction | undefined;
  /** True for a switch: what it receives goes on to others. */
  readonly forwards: boolean;
}

/** Name of the upper end where the case has no host. */
export const unnamedHost = 'unnamed host';

/** Parts of the path, module first. */
export function pathNodes(c: Case): PathNode[] {
  const one = (owner: string, port: PcieFunction | undefined): PathNode => ({
    owner,
    facesModule: port,
    facesHost: port,
    forwards: false,
  });
  return [
    one(c.module.id, c.module.pcie),
    ...c.switches.map((s) => ({
      owner: s.id,
      facesModule: s.pcie,
      facesHost: s.upstream ? { ...s.pcie, ...s.upstream } : s.pcie,
      forwards: true,
    })),
    one(c.host?.id ?? unnamedHost, c.host?.pcie),
  ];
}

/** Payload limit of the path in bytes, and whose it is. */
export interface PayloadLimit {
  readonly bytes: number;
  readonly owner: string;
}

/** Smallest Max_Payload_Size of everything on the path; 128 B where nothing says. */
export function payloadLimit(c: Case, path: readonly PathNode[] = pathNodes(c)): PayloadLimit {
  const limits: PayloadLimit[] = [];
  for (const { owner, facesModule: port } of path) {
    if (port) limits.push({ bytes: bytes(port.Max_Payload_Size.value), owner });
  }
  const set = c.settings.Max_Payload_Size;
  if (set) limits.push({ bytes: bytes(set.value), owner: 'the setting in the case' });
  if (!c.host) limits.push({ bytes: 128, owner: 'the unnamed host, taken at the least' });
  return limits.reduce((a, b) => (b.bytes < a.bytes ? b : a));
}

/** True when the case has what a rating needs: a PCI Express function on the module. */
export function canRate(c: Case): boolean {
  return c.module.pcie !== undefined && c.streams.length > 0;
}

/** Lanes the carrier wires to the module's link; two connectors where the module is sixteen wide. */
export function wiredLanes(c: Case): number | undefined {
  const site = c.carrier?.site;
  if (!site) return undefined;
  const lanesOf = (id: 'P15' | 'P16') => {
    const connector = site.connectors[id];
    return connector?.carries.value === 'PCI Express' ? (connector.lanes?.value ?? 0) : 0;
  };
  const wide = (c.module.pcie?.width.value ?? 0) > 8;
  const wired = lanesOf('P15') + (wide ? lanesOf('P16') : 0);
  return wired === 0 ? undefined : wired;
}
