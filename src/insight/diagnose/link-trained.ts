/** Links trained below what both ends can do, and why where the registers say it. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import {
  expressValue,
  type PathLink,
  rateText,
  speedTexts,
  type TreeNode,
} from '../topology/index.ts';
import type { PathModel } from './path-model.ts';
import { clause, type DiagnosisContext, finding, modelIndex, shown } from './rule.ts';

/** The model with one Link at another speed or width. */
function withLink(index: number, change: Partial<PathModel['links'][number]>) {
  return (m: PathModel): PathModel => ({
    ...m,
    links: m.links.map((link, i) => (i === index ? { ...link, ...change } : link)),
  });
}

function ends({ upper, lower }: PathLink): TreeNode[] {
  return [upper, lower].filter((n) => n !== undefined);
}

/** Set once hardware changed speed or width by itself, as it does to save power. */
function byItself({ upper }: PathLink): boolean {
  return (
    upper !== undefined &&
    expressValue(upper, 'Link Status', 'Link Autonomous Bandwidth Status') === 1
  );
}

/** Speed first forced, then saved for power, then plainly lost. */
function speedFinding(context: DiagnosisContext, link: PathLink): DiagnosisFinding[] {
  const { trained, able, upper } = link;
  if (trained === undefined || able.both === undefined || trained.speed >= able.both.speed)
    return [];
  const price = context.pricer.price(
    withLink(modelIndex(context, link), { speed: able.both.speed }),
  );
  const is = speedTexts[trained.speed] ?? `speed ${trained.speed}`;
  const could = speedTexts[able.both.speed] ?? `speed ${able.both.speed}`;
  const common = { subject: `speed of ${link.name}`, functions: ends(link), price };
  const values = [shown('Current Link Speed', is), shown('both ends can do', could)];
  const target = upper && expressValue(upper, 'Link Control 2', 'Target Link Speed');
  if (target !== undefined && target > 0 && target < able.both.speed && target === trained.speed) {
    return [
      finding({
        ...common,
        id: 'link-target-speed',
        message:
          `Target Link Speed of the port above holds the Link at ${is}; both ends can ` +
          `do ${could}`,
        values: [...values, shown('Target Link Speed', speedTexts[target] ?? `${target}`)],
        clause: clause('7.5.3.19'),
        next:
          'find what set it (firmware option, or a driver that gave up on errors), ' +
          `set it to ${could} and retrain the Link`,
      }),
    ];
  }
  if (byItself(link)) return [idle(common, 'speed', is, could, values)];
  return [
    finding({
      ...common,
      id: 'link-speed',
      message: `trained at ${is} where both ends can do ${could}`,
      values,
      clause: clause('7.5.3.6', '7.5.3.8', '7.5.3.18'),
      next:
        'retrain the Link and read again; if it stays, look at seating, the reference ' +
        'clock, and the channel (loss, retimers, equalization)',
    }),
  ];
}

function idle(
  common: Pick<DiagnosisFinding, 'subject'> & {
    functions: readonly TreeNode[];
    price: Parameters<typeof finding>[0]['price'];
  },
  what: 'speed' | 'width',
  is: string,
  could: string,
  values: DiagnosisFinding['values'],
): DiagnosisFinding {
  return finding({
    ...common,
    id: 'link-idle',
    level: 'unknown',
    message:
      `at ${is} where both ends can do ${could}, and Link Autonomous Bandwidth Status ` +
      `is set: hardware changed ${what} by itself, likely to save power while idle`,
    values,
    clause: clause('7.5.3.8'),
    next:
      'dump again while the function transfers at full rate; only what the Link shows ' +
      'then counts',
  });
}

function widthFinding(context: DiagnosisContext, link: PathLink): DiagnosisFinding[] {
  const { trained, able } = link;
  if (trained === undefined || able.both === undefined || trained.width >= able.both.width)
    return [];
  const price = context.pricer.price(
    withLink(modelIndex(context, link), { width: able.both.width }),
  );
  const [is, could] = [`x${trained.width}`, `x${able.both.width}`];
  const common = { subject: `width of ${link.name}`, functions: ends(link), price };
  const values = [shown('Negotiated Link Width', is), shown('both ends can do', could)];
  if (byItself(link)) return [idle(common, 'width', is, could, values)];
  return [
    finding({
      ...common,
      id: 'link-width',
      message: `trained ${is} where both ends can do ${could}`,
      values,
      clause: clause('7.5.3.6', '7.5.3.8'),
      next:
        'count the lanes that the connector and the carrier wire; if they are ' +
        `${could}, reseat, look at each lane's pair for an open, and ask firmware for ` +
        'the bifurcation of the port',
    }),
  ];
}

/** Links that run below what they could. */
export function linkTrained(context: DiagnosisContext): DiagnosisFinding[] {
  return context.links.flatMap((link) => [
    ...speedFinding(context, link),
    ...widthFinding(context, link),
    ...oneEnd(context, link),
  ]);
}

/** With one end in the dump, what the other can do is open. */
function oneEnd(context: DiagnosisContext, link: PathLink): DiagnosisFinding[] {
  const { trained, able } = link;
  const best = able.upper ?? able.lower;
  if (trained === undefined || best === undefined || able.both !== undefined) return [];
  if (trained.speed >= best.speed && trained.width >= best.width) return [];
  const price = context.pricer.price(withLink(modelIndex(context, link), best));
  return [
    finding({
      id: 'link-one-end',
      level: 'unknown',
      subject: link.name,
      message:
        `trained at ${rateText(trained)} where the end that is in the dump can do ` +
        `${rateText(best)}; what the other end can do is not in the dump`,
      functions: ends(link),
      values: [shown('trained', rateText(trained)), shown('this end can do', rateText(best))],
      clause: clause('7.5.3.6', '7.5.3.8'),
      next: 'dump the whole machine, the ports above included',
      price,
    }),
  ];
}
