/** The answer as a briefing: one thought a slide, its arithmetic and sources in the notes. */
import {
  anatomyFigure,
  answerPathFigure,
  ledgerFigure,
  reconciliationFigures,
  sensitivityFigure,
  sustainedFigure,
} from '../../figures/index.ts';
import type { Answer, StreamAnswer } from '../../model/answer.ts';
import type { Reconciliation } from '../../model/reconcile.ts';
import { formatPercent, formatRate, formatTime } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import {
  chainText,
  directionText,
  needOf,
  shareText,
  signedPercent,
  ticksAsTime,
} from '../words.ts';
import type { Briefing, Slide, SlideLine } from './model.ts';

/** Most lines that a slide can hold and still be read. */
const LINES_MOST = 6;
/** Most paragraphs of notes. */
const NOTES_MOST = 40;

/** The slides of an answer, and of what was measured. A pure function of both. */
export function briefing(answer: Answer, taken?: Reconciliation): Briefing {
  const { case: asked, tool } = answer;
  const title = cleanText(asked.title, '(untitled)');
  const slides = [
    verdictSlide(answer),
    pathSlide(answer),
    ...anatomySlides(answer),
    ledgerSlide(answer),
    sustainedSlide(answer),
    bindingSlide(answer),
    narrowingSlide(answer),
    measuredSlide(taken),
    openSlide(answer),
    cautionSlide(answer),
  ];
  return {
    title,
    question: cleanText(asked.question ?? ''),
    foot: [
      title,
      asked.revision === undefined ? '' : `revision ${cleanText(asked.revision)}`,
      `${tool.name} ${tool.version}`,
    ]
      .filter((part) => part !== '')
      .join(', '),
    slides: slides.filter((s) => s !== undefined),
  };
}

/** A figure with the words it carries itself. */
function drawn(svg: string | undefined): Pick<Slide, 'figure'> {
  if (svg === undefined) return {};
  const words = /^<svg [^>]*aria-label="([^"]*)"/.exec(svg)?.[1] ?? '';
  const description = words
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&amp;', '&');
  return { figure: { svg, description } };
}

/** Most letters of a line; notes and report have the whole. */
const LETTERS_MOST = 480;
/** Most letters of a title that still stands on two lines. */
const TITLE_MOST = 100;

function line(text: string, level?: SlideLine['level']): SlideLine {
  const letters = [...cleanText(text)];
  const cut = letters.length > LETTERS_MOST;
  const kept = cut ? `${letters.slice(0, LETTERS_MOST).join('')}…` : letters.join('');
  return { text: kept, ...(level === undefined ? {} : { level }) };
}

/** Few lines, and how many there are besides. */
function few(lines: readonly SlideLine[]): SlideLine[] {
  if (lines.length <= LINES_MOST) return [...lines];
  const more = lines.length - LINES_MOST + 1;
  return [...lines.slice(0, LINES_MOST - 1), line(`and ${more} more, in the report`)];
}

function notes(...texts: readonly string[]): string[] {
  return texts
    .map((t) => cleanText(t))
    .filter((t) => t !== '')
    .slice(0, NOTES_MOST);
}

function verdictSlide(answer: Answer): Slide {
  const { verdict, case: asked, schema, parts } = answer;
  const title = cleanText(asked.title);
  const long = title.length > TITLE_MOST;
  const levels = [
    ...(verdict.fits ? [line('Fits', verdict.fits)] : []),
    ...(verdict.keepsUp ? [line('Keeps up', verdict.keepsUp)] : []),
  ];
  return {
    title: title === '' || long ? 'Verdict' : title,
    lines: [
      ...(long ? [line(title)] : []),
      line(asked.question ?? ''),
      ...levels,
      line(verdict.summary),
      line(verdict.decide && `To decide: ${verdict.decide}`),
    ].filter(({ text }) => text !== ''),
    notes: notes(
      title,
      asked.question ?? '',
      verdict.summary,
      verdict.decide,
      `Answer ${schema} to ${asked.file}, SHA-256 ${asked.sha256}.`,
      ...parts.map((p) => `${p.kind} ${p.id}: ${p.title}; ${p.options.join(', ')}`),
    ),
  };
}

function pathSlide(answer: Answer): Slide | undefined {
  const svg = answerPathFigure(answer);
  if (svg === undefined) return undefined;
  const links = answer.rate?.links ?? [];
  const buses = links.some((l) => l.direction === 'both');
  const serial = links.some((l) => l.direction !== 'both');
  const assumptions = answer.rate?.streams[0]?.assumptions ?? [];
  return {
    title: buses && serial ? 'The old bus and the new link' : 'The way of the data',
    lines: [],
    ...drawn(svg),
    notes: notes(
      ...assumptions
        .filter((a) => a.name.endsWith(': link'))
        .map((a) => `${a.name}: ${a.text} (${a.basis}${a.reference ? `, ${a.reference}` : ''}).`),
    ),
  };
}

function anatomySlides({ owed }: Answer): Slide[] {
  return (owed?.anatomy ?? []).map((a) => ({
    title: `How the link carries data: one ${a.packet}`,
    lines: [],
    ...drawn(anatomyFigure(a)),
    notes: notes(
      `${a.parts.map((p) => `${p.bytes} B ${p.name}`).join(' + ')} = ${a.bytes} B.`,
      `${a.bytes} B on ${a.link} take ${formatTime(a.wireSeconds)}; ${a.payload} B of them are data: ` +
        `${formatRate(a.payload / a.wireSeconds)} were packets back to back.`,
      ...a.parts
        .filter((p) => p.account !== 'payload')
        .map((p) => `${p.name}: PCI Express Base Specification, ${p.clause}.`),
    ),
  }));
}

function ledgerSlide({ rate }: Answer): Slide | undefined {
  const links = rate?.links ?? [];
  const svg = ledgerFigure(links.slice(0, 4));
  if (svg === undefined) return undefined;
  return {
    title: 'Where the bandwidth goes',
    lines: [],
    ...drawn(svg),
    notes: notes(
      'Every tick of a link is in exactly one account; the accounts add up to the window.',
      ...links.map(
        (hop) =>
          `${hop.hop}, ${directionText(hop.direction)}, ${hop.link}, window of ` +
          `${ticksAsTime(hop, hop.total)}: ` +
          `${hop.ledger
            .filter((r) => r.share > 0)
            .map((r) => `${r.account}${r.stream ? ` of ${r.stream}` : ''} ${shareText(r.share)}`)
            .join(' + ')} = 100 %.`,
      ),
    ),
  };
}

/** `520 MB/s × (1 + 20 %) = 624 MB/s`, the way the verdict counts. */
function needWords(s: StreamAnswer): string {
  const need = `${formatRate(s.required)} × (1 + ${formatPercent(s.askedHeadroom)})`;
  return (
    `${s.name}: need is ${need} = ${formatRate(needOf(s))}; low ${formatRate(s.sustained.low)} / ` +
    `required ${formatRate(s.required)} − 1 = ${signedPercent(s.headroom)} headroom.`
  );
}

function sustainedSlide(answer: Answer): Slide | undefined {
  const streams = answer.rate?.streams ?? [];
  if (streams.length === 0) return undefined;
  const first = tightestFirst(streams).slice(0, 5);
  const shown = { ...answer, rate: { ...answer.rate!, streams: first } };
  const left = streams.length - first.length;
  return {
    title: 'What each stream sustains against what it needs',
    lines: left > 0 ? [line(`The tightest ${first.length} of ${streams.length} streams`)] : [],
    ...drawn(sustainedFigure(shown)),
    notes: notes(
      ...streams.map(needWords),
      ...(answer.owed?.interfaces ?? [])
        .filter((r) => r.interface.startsWith('stream ') && r.side === 'case')
        .map((r) => `${r.interface}, ${r.item}: ${r.text} (${r.basis}).`),
    ),
  };
}

function tightestFirst(streams: readonly StreamAnswer[]): StreamAnswer[] {
  return [...streams].sort((a, b) => a.headroom - a.askedHeadroom - (b.headroom - b.askedHeadroom));
}

function bindingSlide({ rate, verdict }: Answer): Slide | undefined {
  const streams = tightestFirst(rate?.streams ?? []);
  const [first] = streams;
  if (first === undefined) return undefined;
  const limits = first.limitedBy.map((l) =>
    line(`${first.name} is bound by: ${l.cause}, ${l.hop}`),
  );
  const chain = first.chain
    .slice(1)
    .map((step) => line(`then, at ${formatRate(step.rate)}: ${step.cause}, ${step.hop}`));
  const next = first.next === '' ? [] : [line(`Recommendation: ${first.next}`)];
  return {
    title: 'What binds, and what to do',
    lines: few([...limits, ...chain.slice(0, 2), ...next]),
    notes: notes(
      ...streams.map((s) => `${s.name}: ${s.message}. Limits in order: ${chainText(s.chain)}.`),
      verdict.decide,
    ),
  };
}

function narrowingSlide(answer: Answer): Slide | undefined {
  const svg = sensitivityFigure(answer);
  if (svg === undefined) return undefined;
  const asks = (answer.owed?.narrowing ?? []).flatMap((n) => n.unknowns.map((u) => u.ask));
  return {
    title: 'What would make the range narrower',
    lines: [],
    ...drawn(svg),
    notes: notes(...new Set(asks)),
  };
}

function measuredSlide(taken: Reconciliation | undefined): Slide | undefined {
  if (taken === undefined) return undefined;
  const [figure] = reconciliationFigures(taken);
  return {
    title: 'Measured beside predicted',
    lines: figure ? [] : [line(taken.verdict.summary, taken.verdict.level)],
    ...drawn(figure?.svg),
    notes: notes(
      taken.verdict.summary,
      taken.verdict.decide,
      ...taken.points.map(
        (p) =>
          `${p.stream}, ${p.kind} of ${p.sizeBytes} B: ${formatRate(p.measured.median)} measured, ` +
          `${formatRate(p.predicted.expected)} expected, ${signedPercent(p.difference)}.`,
      ),
    ),
  };
}

/** Findings to act on; a slide without any would only say what the verdict says. */
function openSlide({ fit }: Answer): Slide | undefined {
  const order = ['stop', 'unknown', 'caution'] as const;
  const open = order.flatMap((level) => (fit?.findings ?? []).filter((f) => f.level === level));
  if (open.length === 0) return undefined;
  return {
    title: 'Open points of the fit',
    lines: few(open.map((f) => line(`${f.subject}: ${f.message}`, f.level))),
    notes: notes(...open.map((f) => `${f.id} (${f.level}): ${f.message}. ${f.next} ${f.clause}`)),
  };
}

function cautionSlide({ cautions, rate, sources }: Answer): Slide {
  return {
    title: 'Cautions, and what the figures leave out',
    lines: few([...cautions, ...(rate?.limits ?? [])].map((c) => line(c))),
    notes: notes(
      ...(rate?.limits ?? []),
      'The data sheets of the parts, the standards, local codes and a qualified engineer prevail.',
      ...sources.map((s) => `Source: ${s}`),
    ),
  };
}
