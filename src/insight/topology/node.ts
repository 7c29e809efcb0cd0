/** One function of a dump in its place: its address in numbers, and what kind of port it is. */
import type { DecodedFunction } from '../../model/dump.ts';
import { addressAt, type FunctionAddress } from '../../readers/dump/index.ts';
import { fieldValue, structureOf } from '../registers/index.ts';

/** What a function is to the tree of buses. */
export type NodeKind =
  | 'root port'
  | 'upstream port'
  | 'downstream port'
  | 'bridge to PCI'
  | 'bridge from PCI'
  | 'PCI bridge'
  | 'CardBus bridge'
  | 'endpoint'
  | 'integrated endpoint'
  | 'event collector'
  | 'host bridge'
  | 'conventional function'
  | 'no answer';

/** Bus numbers of a bridge. */
export interface BusNumbers {
  readonly primary: number;
  readonly secondary: number;
  readonly subordinate: number;
}

/** A function with an address. */
export interface TreeNode {
  readonly at: FunctionAddress;
  /** `0000:03:00.0`. */
  readonly address: string;
  readonly kind: NodeKind;
  readonly fn: DecodedFunction;
  /** Bridges only; absent where the dump does not hold them. */
  readonly buses?: BusNumbers;
}

const EXPRESS = 'PCI Express';
/** Device/Port Type (PCI Express Base Specification 6.3 §7.5.3.2) to kind. */
const byPortType: Readonly<Record<number, NodeKind>> = {
  0: 'endpoint',
  1: 'endpoint',
  4: 'root port',
  5: 'upstream port',
  6: 'downstream port',
  7: 'bridge to PCI',
  8: 'bridge from PCI',
  9: 'integrated endpoint',
  10: 'event collector',
};

function kindOf(fn: DecodedFunction): NodeKind {
  const header = fn.structures[0];
  if (header === undefined) return 'no answer';
  const port = fieldValue(fn, EXPRESS, 'PCI Express Capabilities', 'Device/Port Type');
  const express = port === undefined ? undefined : byPortType[port];
  if (express !== undefined) return express;
  if (header.id === 1) return 'PCI bridge';
  if (header.id === 2) return 'CardBus bridge';
  return fn.classCode?.startsWith('0600') ? 'host bridge' : 'conventional function';
}

function busesOf(fn: DecodedFunction): BusNumbers | undefined {
  const header = fn.structures[0];
  if (header === undefined || header.id !== 1) return undefined;
  const read = (name: string) => fieldValue(fn, header.name, name, name);
  const primary = read('Primary Bus Number');
  const secondary = read('Secondary Bus Number');
  const subordinate = read('Subordinate Bus Number');
  if (primary === undefined || secondary === undefined || subordinate === undefined) {
    return undefined;
  }
  return { primary, secondary, subordinate };
}

/** The function in its place; undefined where the dump does not say its address. */
export function treeNode(fn: DecodedFunction): TreeNode | undefined {
  if (fn.address === undefined) return undefined;
  const at = addressAt(fn.address);
  if (at === undefined || 'wrong' in at) return undefined;
  const buses = busesOf(fn);
  return { at, address: fn.address, kind: kindOf(fn), fn, ...(buses && { buses }) };
}

/** True for ports that a Link leads down from. */
export function facesDown({ kind }: TreeNode): boolean {
  return kind === 'root port' || kind === 'downstream port' || kind === 'bridge from PCI';
}

/** True for functions that a Link leads up from. */
export function facesUp({ kind }: TreeNode): boolean {
  return kind === 'endpoint' || kind === 'upstream port' || kind === 'bridge to PCI';
}

/** True for bridges whose secondary side is a parallel bus. */
export function leadsToBus({ kind }: TreeNode): boolean {
  return kind === 'bridge to PCI' || kind === 'PCI bridge';
}

/** True for every kind with bus numbers of its own. */
export function isBridge(node: TreeNode): boolean {
  return node.fn.structures[0]?.id === 1;
}

/** A field by structure, register and name; undefined where it has no use or is not in the dump. */
export function registerValue(
  { fn }: TreeNode,
  structure: string,
  register: string,
  field: string,
): number | undefined {
  return fieldValue(fn, structure, register, field);
}

/** A field of the PCI Express capability; undefined where it has no use or is not in the dump. */
export function expressValue(node: TreeNode, register: string, field: string): number | undefined {
  return fieldValue(node.fn, EXPRESS, register, field);
}

/** A field of the header. */
export function headerValue(node: TreeNode, register: string, field: string): number | undefined {
  const header = node.fn.structures[0];
  return header === undefined ? undefined : fieldValue(node.fn, header.name, register, field);
}

/** Whether the function has a structure of that name. */
export function has(node: TreeNode, structure: string): boolean {
  return structureOf(node.fn, structure) !== undefined;
}

/** The address without domain 0, as people say it: `03:00.0`. */
export function shortAddress({ address, at }: Pick<TreeNode, 'address' | 'at'>): string {
  return at.domain === 0 ? address.replace(/^0+:(?=..:)/, '') : address;
}

/** A bus as people say it: `bus 03`, with the domain where it is not 0. */
export function busText(domain: number, bus: number): string {
  const hex = (n: number, digits: number) => n.toString(16).padStart(digits, '0');
  return domain === 0 ? `bus ${hex(bus, 2)}` : `bus ${hex(domain, 4)}:${hex(bus, 2)}`;
}
