/**
 * Two dumps of one path, setting by setting: before and after, or a good unit and a bad one.
 * Functions
 * are matched by their place on the path, since bus numbers change from one start to the next.
 *
 * Compared is what acts on a transfer. Status bits that come and go, addresses, identities and
 * counters
 * are not.
 */
import type { PathDifference } from '../../model/diagnosis.ts';
import { registerOf, structureOf } from '../registers/index.ts';
import type { BusTree, PathLink, RootPath, TreeNode } from '../topology/index.ts';
import { linksOf, pathTo, rateText, shortAddress } from '../topology/index.ts';
import { modelOf, type PathModel } from './path-model.ts';
import { type Price, Pricer, unpriced } from './price.ts';

/** What of a model follows a setting; the second dump's part of it put into the first. */
type Carry = (first: PathModel, second: PathModel) => PathModel;

interface Compared {
  readonly structure: string;
  readonly register: string;
  readonly field: string;
  /** Only the function, or the root port, carries it into the model. */
  readonly function?: Carry;
  readonly root?: Carry;
}

const EXPRESS = 'PCI Express';
const AER = 'Advanced Error Reporting';

function of(structure: string, register: string, fields: readonly string[]): Compared[] {
  return fields.map((field) => ({ structure, register, field }));
}

const write = <T>(a: { write: T; read: T }, b: { write: T; read: T }) => ({ ...a, write: b.write });
const read = <T>(a: { write: T; read: T }, b: { write: T; read: T }) => ({ ...a, read: b.read });

/** Settings of every function on the path; headers are named by their type at run time. */
const settings: readonly Compared[] = [
  ...of('header', 'Command', ['Memory Space Enable', 'Bus Master Enable', 'Interrupt Disable']),
  ...of('PCI Power Management', 'Power Management Control/Status', ['PowerState']),
  {
    structure: EXPRESS,
    register: 'Device Control',
    field: 'Max_Payload_Size',
    function: (a, b) => ({ ...a, payload: write(a.payload, b.payload) }),
    root: (a, b) => ({ ...a, payload: read(a.payload, b.payload) }),
  },
  {
    structure: EXPRESS,
    register: 'Device Control',
    field: 'Max_Read_Request_Size',
    function: (a, b) => ({ ...a, request: b.request }),
  },
  {
    structure: EXPRESS,
    register: 'Device Control',
    field: 'Extended Tag Field Enable',
    function: (a, b) => ({ ...a, tags: b.tags, outstanding: b.tags }),
  },
  {
    structure: EXPRESS,
    register: 'Device Control 2',
    field: '10-Bit Tag Requester Enable',
    function: (a, b) => ({ ...a, tags: b.tags, outstanding: b.tags }),
  },
  ...of(EXPRESS, 'Device Capabilities', [
    'Max_Payload_Size Supported',
    'Extended Tag Field Supported',
  ]),
  ...of(EXPRESS, 'Device Control', [
    'Enable Relaxed Ordering',
    'Enable No Snoop',
    'Phantom Functions Enable',
  ]),
  ...of(EXPRESS, 'Device Control 2', [
    'Completion Timeout Value',
    'Completion Timeout Disable',
    'IDO Request Enable',
    'IDO Completion Enable',
    'LTR Mechanism Enable',
  ]),
  ...of(EXPRESS, 'Link Control', [
    'Active State Power Management Control',
    'Read Completion Boundary',
    'Link Disable',
    'Common Clock Configuration',
    'Extended Synch',
    'Hardware Autonomous Width Disable',
  ]),
  ...of(EXPRESS, 'Link Control 2', ['Target Link Speed', 'Hardware Autonomous Speed Disable']),
  ...of(EXPRESS, 'Link Capabilities', ['Max Link Speed', 'Maximum Link Width', 'ASPM Support']),
  {
    structure: AER,
    register: 'Advanced Error Capabilities and Control',
    field: 'ECRC Generation Enable',
    function: (a, b) => ({ ...a, ecrc: write(a.ecrc, b.ecrc) }),
    root: (a, b) => ({ ...a, ecrc: read(a.ecrc, b.ecrc) }),
  },
  ...of(AER, 'Correctable Error Status', [
    'Receiver Error Status',
    'Bad TLP Status',
    'Bad DLLP Status',
    'REPLAY_NUM Rollover Status',
    'Replay Timer Timeout Status',
  ]),
  ...of('MSI', 'Message Control', ['MSI Enable', 'Multiple Message Enable']),
  ...of('MSI-X', 'Message Control', ['MSI-X Enable', 'Function Mask']),
  ...of('PCI-X', 'PCI-X Command', [
    'Maximum Memory Read Byte Count',
    'Maximum Outstanding Split Transactions',
  ]),
  ...of('PCI-X', 'PCI-X Secondary Status', ['Secondary Bus Mode and Frequency']),
];

function meaningOf(node: TreeNode, { structure, register, field }: Compared): string | undefined {
  const found = structure === 'header' ? node.fn.structures[0] : structureOf(node.fn, structure);
  const at = registerOf(found, register);
  if (at === undefined || at.unused !== undefined) return undefined;
  return at.fields.find((f) => f.name === field)?.meaning;
}

/** Two paths side by side. */
export interface PathComparison {
  readonly differences: readonly PathDifference[];
  readonly notCompared: readonly string[];
  readonly rates: readonly [Pricer, Pricer];
}

interface Side {
  readonly path: RootPath;
  readonly links: readonly PathLink[];
  readonly pricer: Pricer;
}

function sideOf(tree: BusTree, node: TreeNode): Side {
  const path = pathTo(tree, node);
  return { path, links: linksOf(path), pricer: new Pricer(modelOf(path)) };
}

/** Compares the paths of two functions, each in its own dump. */
export function comparePaths(
  first: { readonly tree: BusTree; readonly node: TreeNode },
  second: { readonly tree: BusTree; readonly node: TreeNode },
): PathComparison {
  const [a, b] = [sideOf(first.tree, first.node), sideOf(second.tree, second.node)];
  const notCompared: string[] = [];
  for (const [word, { path }] of [
    ['first', a],
    ['second', b],
  ] as const) {
    for (const text of path.missing) notCompared.push(`${word} dump: ${text}`);
  }
  const pairs = pairsOf(a, b, notCompared);
  const found = [
    ...linkDifferences(a, b),
    ...pairs.flatMap((pair) => settingDifferences(pair, a, b)),
  ];
  const differences = found
    .map((d, i) => ({ d, i }))
    .sort((x, y) => y.d.share - x.d.share || x.i - y.i)
    .map(({ d }) => d);
  return { differences, notCompared, rates: [a.pricer, b.pricer] };
}

interface Pair {
  readonly where: string;
  readonly role: 'function' | 'root' | 'between';
  readonly nodes: readonly [TreeNode, TreeNode];
}

/** Functions in the same place counted from the function up; what one path has more is told. */
function pairsOf(a: Side, b: Side, notCompared: string[]): Pair[] {
  const [first, second] = [[...a.path.nodes].reverse(), [...b.path.nodes].reverse()];
  if (first.length !== second.length) {
    notCompared.push(
      `the first path has ${first.length} functions, the second ${second.length}: ` +
        'matched from the function up',
    );
  }
  const pairs: Pair[] = [];
  first.forEach((node, i) => {
    const other = second[i];
    if (other === undefined) return;
    const top = node.kind === 'root port' && other.kind === 'root port';
    const role = i === 0 ? 'function' : top ? 'root' : 'between';
    if (node.kind !== other.kind) {
      notCompared.push(
        `${shortAddress(node)} is ${node.kind}, ${shortAddress(other)} is ${other.kind}`,
      );
    }
    const above = i === 0 ? 'function' : `${node.kind}, ${i} above the function`;
    pairs.push({ where: above, role, nodes: [node, other] });
  });
  return pairs;
}

function settingDifferences({ where, role, nodes }: Pair, a: Side, b: Side): PathDifference[] {
  const [first, second] = nodes;
  return settings.flatMap((setting) => {
    const [x, y] = [meaningOf(first, setting), meaningOf(second, setting)];
    if (x === y || (x === undefined && y === undefined)) return [];
    const carry =
      role === 'function' ? setting.function : role === 'root' ? setting.root : undefined;
    return [
      {
        setting: setting.field,
        where,
        first: { address: first.address, text: x ?? 'not there' },
        second: { address: second.address, text: y ?? 'not there' },
        ...priceOf(a, b, carry),
      },
    ];
  });
}

function priceOf(a: Side, b: Side, carry: Carry | undefined): Price {
  if (carry === undefined) return unpriced('no model prices this setting by itself');
  const other = b.pricer.model;
  if (other === undefined) return unpriced('the second path cannot be rated');
  const from = (m: PathModel) => (carry(m, other).outstanding ? { ...m, outstanding: m.tags } : m);
  return sized(a.pricer.price((m) => carry(m, other), from));
}

/** A difference counts whichever way it goes. */
function sized(price: Price): Price {
  const share = price.costs.reduce((most, { asFound, without }) => {
    const larger = Math.max(asFound, without);
    return larger <= 0 ? most : Math.max(most, Math.abs(asFound - without) / larger);
  }, 0);
  return { ...price, share };
}

function linkDifferences(a: Side, b: Side): PathDifference[] {
  const [first, second] = [[...a.links].reverse(), [...b.links].reverse()];
  return first.flatMap((link, i) => {
    const other = second[i];
    if (other === undefined) return [];
    const [x, y] = [link.trained, other.trained];
    const [text, otherText] = [x, y].map((t) => (t ? rateText(t) : 'not trained'));
    if (text === otherText) return [];
    const price =
      x && y
        ? sized(
            a.pricer.price((m) => ({
              ...m,
              links: m.links.map((l, k) => (k === i ? { ...l, ...y } : l)),
            })),
          )
        : unpriced('one of the two Links is down');
    const address = (l: PathLink) => (l.upper ?? l.lower)?.address ?? '';
    const down = x === undefined || y === undefined;
    return [
      {
        setting: 'Link as trained',
        where: i === 0 ? 'Link of the function' : `Link ${i + 1} from the function up`,
        first: { address: address(link), text: text! },
        second: { address: address(other), text: otherText! },
        ...price,
        ...(down && { share: 1 }),
      },
    ];
  });
}
