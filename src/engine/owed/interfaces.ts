/** The interface control table: every agreed value of connectors, rails, links and streams. */
import type { Answer } from '../../model/answer.ts';
import type { InterfaceRow } from '../../model/owed.ts';
import { formatQuantity, type Quantity } from '../../quantity/index.ts';
import type { Case, Stream } from '../../system/case.ts';
import type { Given } from '../../system/given.ts';
import { type Connector, connectorIds, type RailDemand, rails } from '../../system/parts.ts';

type Value = Given<Quantity> | Given<string | number | boolean>;

function textOf(value: Value['value']): string {
  if (typeof value === 'object') return formatQuantity(value);
  return typeof value === 'boolean' ? (value ? 'yes' : 'no') : `${value}`;
}

/** One row; none where the part says nothing. */
function row(about: string, item: string, side: string, given: Value | undefined): InterfaceRow[] {
  if (given === undefined) return [];
  return [
    {
      interface: about,
      item,
      side,
      text: textOf(given.value),
      basis: given.basis,
      ...(given.reference === undefined ? {} : { reference: given.reference }),
    },
  ];
}

/** Rows of both boards, then connectors P11 to P16, supplies, links, streams: in this order. */
export function interfaceRows(c: Case, answer: Answer): InterfaceRow[] {
  return [
    ...mechanics(c),
    ...connectorIds.flatMap((id) => connectorRows(c, id)),
    ...railRows(c),
    ...linkRows(answer),
    ...c.streams.flatMap(streamRows),
  ];
}

function siteOf(c: Case): string {
  return c.carrier === undefined ? '' : `${c.carrier.part.id} site ${c.carrier.siteName}`;
}

function mechanics(c: Case): InterfaceRow[] {
  const { module } = c;
  const site = c.carrier?.site;
  const at = (item: string, ours: Value | undefined, theirs: Value | undefined) => [
    ...row('board', item, module.id, ours),
    ...row('board', item, siteOf(c), theirs),
  ];
  return [
    ...at('outline', module.outline, site?.outline),
    ...at('length', module.length, site?.length),
    ...at('stacking height', module.stacking_height, site?.stacking_height),
    ...at('part height between boards', module.side1_height, site?.part_height),
    ...at('cooling', module.cooling, site?.cooling),
  ];
}

function connectorRows(c: Case, id: (typeof connectorIds)[number]): InterfaceRow[] {
  const sides: (readonly [string, Connector | undefined])[] = [
    [c.module.id, c.module.connectors[id]],
    [siteOf(c), c.carrier?.site.connectors[id]],
  ];
  const items: (readonly [string, (connector: Connector) => Value | undefined])[] = [
    ['family', (k) => k.family],
    ['carries', (k) => k.carries],
    ['lanes', (k) => k.lanes],
    ['rated line rate', (k) => k.rated_line_rate],
    ['user signals', (k) => k.signals],
  ];
  return items.flatMap(([item, of]) =>
    sides.flatMap(([side, connector]) => (connector ? row(id, item, side, of(connector)) : [])),
  );
}

function railRows(c: Case): InterfaceRow[] {
  const site = c.carrier?.site;
  const vpwr = [
    ...row('VPWR rail', 'voltage accepted', c.module.id, c.module.vpwr_accepts),
    ...row('VPWR rail', 'voltage given', siteOf(c), site?.vpwr),
  ];
  const currents = rails.flatMap((rail) => {
    const of = (side: string, demand: RailDemand | undefined) => [
      ...row(`${rail} rail`, 'continuous current', side, demand?.continuous),
      ...row(`${rail} rail`, 'peak current', side, demand?.peak),
    ];
    const drawn = c.module.supplies[rail];
    return drawn ? [...of(c.module.id, drawn), ...of(siteOf(c), site?.supplies[rail])] : [];
  });
  return [...vpwr, ...currents, ...row('all rails', 'total power', siteOf(c), site?.total_power)];
}

/** What the answer decided of each hop, and what settings hold for the path. */
function linkRows({ rate }: Answer): InterfaceRow[] {
  const hops = [...new Set((rate?.links ?? []).map((l) => l.hop))];
  const assumptions = rate?.streams[0]?.assumptions ?? [];
  return hops.flatMap((hop) =>
    assumptions
      .filter((a) => a.name.startsWith(`${hop}: `))
      .map(({ name, text, basis, reference }) => ({
        interface: hop,
        item: name.slice(hop.length + 2),
        side: 'both ends',
        text,
        basis,
        ...(reference === undefined ? {} : { reference }),
      })),
  );
}

function streamRows(stream: Stream): InterfaceRow[] {
  const about = `stream ${stream.name}`;
  const { front_end, transfer } = stream;
  const of = (item: string, given: Value | undefined) => row(about, item, 'case', given);
  return [
    ...of('direction', stream.direction),
    ...of('required rate', stream.required),
    ...of('average rate', stream.average),
    ...of('asked headroom', stream.headroom),
    ...of('channels', front_end?.channels),
    ...of('sample rate', front_end?.sample_rate),
    ...of('container', front_end?.container),
    ...of('duty', front_end?.duty),
    ...of('block header', front_end?.block_header?.size),
    ...of('a header every', front_end?.block_header?.every),
    ...of('transfer size', transfer?.size),
    ...of('start offset', transfer?.start_offset),
    ...of('buffer', transfer?.buffer),
    ...of('moved by', stream.moved_by),
    ...of('channel of the engine', stream.channel),
    ...of('virtual channel', stream.virtual_channel),
  ];
}
