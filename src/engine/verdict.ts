/** The verdict in a sentence, and the decision or the one value that would make it. */
import type { Answer, OptionDependence, StreamAnswer } from '../model/answer.ts';
import { type Finding, type Level, worse } from '../model/finding.ts';
import { formatPercent, formatRate } from '../quantity/index.ts';
import { refusedLinks } from '../system/build.ts';
import { busCase } from '../system/bus/index.ts';
import type { Case } from '../system/case.ts';
import { canRate } from '../system/nodes.ts';
import { busRefusals } from './bus.ts';
import { headroomWords } from './headroom.ts';

const fitsWords: Readonly<Record<Level, string>> = {
  ok: 'It fits',
  caution: 'It fits, with points to prove',
  unknown: 'Whether it fits is not decided',
  stop: 'It does not fit',
};

const keepsUpWords: Readonly<Record<Level, string>> = {
  ok: 'it keeps up with the headroom asked',
  caution: 'it keeps up, but not with the headroom asked in every case',
  unknown: 'whether it keeps up is not decided',
  stop: 'it does not keep up',
};

export function verdictOf(
  c: Case,
  findings: readonly Finding[] | undefined,
  streams: readonly StreamAnswer[] | undefined,
  asked: { readonly fit: boolean; readonly rate: boolean },
  options: readonly OptionDependence[],
): Answer['verdict'] {
  const fits = findings ? worstOf(findings) : undefined;
  const keepsUp = streams ? worstOf(streams) : asked.rate ? ('unknown' as const) : undefined;
  const sentences = [
    fits ? fitSentence(fits, findings ?? []) : '',
    keepsUp ? rateSentence(keepsUp, streams ?? []) : '',
  ].filter((s) => s !== '');
  return {
    ...(fits ? { fits } : {}),
    ...(keepsUp ? { keepsUp } : {}),
    summary: sentences.map(capital).join(' '),
    decide: decide(c, findings ?? [], streams, asked),
    ...(options.length > 0 ? { options } : {}),
  };
}

function worstOf(list: readonly { readonly level: Level }[]): Level {
  return list.reduce<Level>((level, item) => worse(level, item.level), 'ok');
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function fitSentence(level: Level, findings: readonly Finding[]): string {
  if (level === 'ok') return `${fitsWords.ok}.`;
  const first = findings.find((f) => f.level === level)!;
  const others = findings.filter((f) => f.level === level).length - 1;
  const more = others > 0 ? ` (and ${others} more)` : '';
  return `${fitsWords[level]}: ${first.message}${more}.`.replace('..', '.');
}

function rateSentence(level: Level, streams: readonly StreamAnswer[]): string {
  const tightest = streams.reduce<StreamAnswer | undefined>(
    (a, b) => (a && a.headroom - a.askedHeadroom <= b.headroom - b.askedHeadroom ? a : b),
    undefined,
  );
  if (!tightest) return `${keepsUpWords[level]}.`;
  const { name, required, sustained, headroom, askedHeadroom } = tightest;
  const words = level === 'caution' && headroom < 0 ? 'it may not keep up' : keepsUpWords[level];
  const total = streams.length > 1 ? ` (tightest of ${streams.length} streams)` : '';
  return (
    `${words}: ${name}${total} sustains ${formatRate(sustained.low)} at the low end against ` +
    `${formatRate(required)} required, ${headroomWords(headroom)} of ` +
    `${formatPercent(askedHeadroom, 0)} asked.${together(streams)}`
  );
}

/** Streams that share a direction, added up: what the link as a whole has to carry. */
function together(streams: readonly StreamAnswer[]): string {
  const sums = (['to host', 'from host'] as const).flatMap((direction) => {
    const shared = streams.filter((s) => s.direction === direction);
    if (shared.length < 2) return [];
    const low = shared.reduce((sum, s) => sum + s.sustained.low, 0);
    const required = shared.reduce((sum, s) => sum + s.required, 0);
    return [
      `the ${shared.length} streams ${direction} together: ${formatRate(low)} against ` +
        `${formatRate(required)} required`,
    ];
  });
  return sums.length === 0 ? '' : ` ${capital(sums.join('; '))}.`;
}

/** The worst finding's next step, then the worst stream's. */
function decide(
  c: Case,
  findings: readonly Finding[],
  streams: readonly StreamAnswer[] | undefined,
  asked: { readonly rate: boolean },
): string {
  const steps: string[] = [];
  const worst = worstOf(findings);
  const finding = worst === 'ok' ? undefined : findings.find((f) => f.level === worst);
  if (finding && finding.next !== '') steps.push(`${finding.subject}: ${finding.next}`);
  if (streams) {
    const level = worstOf(streams);
    const stream = level === 'ok' ? undefined : streams.find((s) => s.level === level);
    if (stream && stream.next !== '') steps.push(`${stream.name}: ${stream.next}`);
  } else if (asked.rate) {
    steps.push(notRated(c));
  }
  return steps.length === 0 ? 'Nothing is open: order as configured.' : steps.join(' | ');
}

function notRated(c: Case): string {
  const refused = canRate(c) ? refusedLinks(c) : [];
  if (refused.length > 0)
    return `${refused.join('; ')}; give the link as two that the standard has`;
  const bus = busCase(c);
  if (bus && c.streams.length > 0) return busRefusals(bus).join('; ');
  if (c.module.pci && !bus) return 'give the site its bus, `pci`, in the part of the carrier';
  return c.streams.length === 0
    ? 'name the streams in the case to have them rated'
    : `${c.module.id} has no PCI Express port in its part file; give it \`pcie\` to have it rated`;
}
