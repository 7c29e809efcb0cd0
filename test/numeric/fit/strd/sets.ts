/**
 * The 27 non-linear regression problems of NIST Statistical Reference Datasets (StRD), with their
 * models, both published starts, certified values, certified standard deviations of the parameters,
 * certified residual sum of squares and residual standard deviation: itl.nist.gov/div898/strd,
 * "Nonlinear Regression". A wrong digit in a table below would show: the certified values are
 * reached to eight digits and more.
 */
import { gauss1, gauss2, gauss3 } from './gauss-data.ts';
import { bennett5, chwirut1, chwirut2, enso, hahn1, kirby2, nelson } from './large-data.ts';

type Row = readonly number[];

/** One problem: `f(x, b)` for the predictors of one observation. */
export interface ReferenceSet {
  readonly name: string;
  readonly level: 'lower' | 'average' | 'higher';
  readonly f: (x: Row, b: Row) => number;
  readonly y: Row;
  readonly x: readonly Row[];
  readonly starts: readonly [Row, Row];
  readonly certified: Row;
  readonly deviations: Row;
  readonly squares: number;
  readonly residualDeviation: number;
}

type Text = Omit<ReferenceSet, 'y' | 'x'> & { readonly data: Row; readonly predictors?: Row[] };

const { exp, log, PI, sin, cos, atan } = Math;

const list = (text: string): number[] => text.trim().split(/\s+/).map(Number);
const counting = (y: Row, from: number, by: number): number[] =>
  y.flatMap((value, i) => [value, from + by * i]);

function set({ data, predictors, ...rest }: Text): ReferenceSet {
  if (predictors) return { ...rest, y: data, x: predictors };
  const pairs = Array.from({ length: data.length / 2 }, (_, i) => data.slice(2 * i, 2 * i + 2));
  return { ...rest, y: pairs.map((p) => p[0]!), x: pairs.map((p) => [p[1]!]) };
}

const misra1 = list(`
10.07 77.6 14.73 114.9 17.94 141.1 23.93 190.8 29.61 239.9 35.18 289.0 40.02 332.8 44.82 378.4
50.76 434.8 55.05 477.3 61.01 536.8 66.40 593.1 75.47 689.1 81.78 760.0`);

const chwirut = ([x]: Row, [b1, b2, b3]: Row) => exp(-b1! * x!) / (b2! + b3! * x!);
const chwirutStarts = [
  [0.1, 0.01, 0.02],
  [0.15, 0.008, 0.01],
] as const;

const lanczos = ([x]: Row, [b1, b2, b3, b4, b5, b6]: Row) =>
  b1! * exp(-b2! * x!) + b3! * exp(-b4! * x!) + b5! * exp(-b6! * x!);
const lanczosStarts = [
  [1.2, 0.3, 5.6, 5.5, 6.5, 7.6],
  [0.5, 0.7, 3.6, 4.2, 4, 6.3],
] as const;

const bell = (x: number, height: number, at: number, width: number) =>
  height * exp((-(x - at) * (x - at)) / (width * width));
const gauss = ([x]: Row, [b1, b2, b3, b4, b5, b6, b7, b8]: Row) =>
  b1! * exp(-b2! * x!) + bell(x!, b3!, b4!, b5!) + bell(x!, b6!, b7!, b8!);

const cubics = ([x]: Row, [b1, b2, b3, b4, b5, b6, b7]: Row) =>
  (b1! + x! * (b2! + x! * (b3! + x! * b4!))) / (1 + x! * (b5! + x! * (b6! + x! * b7!)));

export const lower: readonly ReferenceSet[] = [
  set({
    name: 'Misra1a',
    level: 'lower',
    f: ([x], [b1, b2]) => b1! * (1 - exp(-b2! * x!)),
    data: misra1,
    starts: [
      [500, 0.0001],
      [250, 0.0005],
    ],
    certified: [2.3894212918e2, 5.5015643181e-4],
    deviations: [2.7070075241, 7.2668688436e-6],
    squares: 1.2455138894e-1,
    residualDeviation: 1.018787633e-1,
  }),
  set({
    name: 'Chwirut2',
    level: 'lower',
    f: chwirut,
    data: list(chwirut2),
    starts: chwirutStarts,
    certified: [1.6657666537e-1, 5.1653291286e-3, 1.2150007096e-2],
    deviations: [3.830328681e-2, 6.6621605126e-4, 1.5304234767e-3],
    squares: 5.1304802941e2,
    residualDeviation: 3.171713304,
  }),
  set({
    name: 'Chwirut1',
    level: 'lower',
    f: chwirut,
    data: list(chwirut1),
    starts: chwirutStarts,
    certified: [1.902781837e-1, 6.1314004477e-3, 1.0530908399e-2],
    deviations: [2.1938557035e-2, 3.4500025051e-4, 7.9281847748e-4],
    squares: 2.3844771393e3,
    residualDeviation: 3.361672132,
  }),
  set({
    name: 'Lanczos3',
    level: 'lower',
    f: lanczos,
    data: counting(
      list(`2.5134 2.0443 1.6684 1.3664 1.1232 0.9269 0.7679 0.6389 0.5338 0.4479 0.3776 0.3197
      0.2720 0.2325 0.1997 0.1723 0.1493 0.1301 0.1138 0.1000 0.0883 0.0783 0.0698 0.0624`),
      0,
      0.05,
    ),
    starts: lanczosStarts,
    certified: [
      8.6816414977e-2, 9.5498101505e-1, 8.4400777463e-1, 2.9515951832, 1.5825685901, 4.9863565084,
    ],
    deviations: [
      1.7197908859e-2, 9.7041624475e-2, 4.1488663282e-2, 1.0766312506e-1, 5.8371576281e-2,
      3.4436403035e-2,
    ],
    squares: 1.6117193594e-8,
    residualDeviation: 2.9923229172e-5,
  }),
  set({
    name: 'Gauss1',
    level: 'lower',
    f: gauss,
    data: counting(list(gauss1), 1, 1),
    starts: [
      [97, 0.009, 100, 65, 20, 70, 178, 16.5],
      [94, 0.0105, 99, 63, 25, 71, 180, 20],
    ],
    certified: [
      9.8778210871e1, 1.0497276517e-2, 1.0048990633e2, 6.7481111276e1, 2.312977336e1,
      7.1994503004e1, 1.7899805021e2, 1.8389389025e1,
    ],
    deviations: [
      5.752731273e-1, 1.1406289017e-4, 5.8831775752e-1, 1.0460593412e-1, 1.7439951146e-1,
      6.2622793913e-1, 1.2436988217e-1, 2.0134312832e-1,
    ],
    squares: 1.3158222432e3,
    residualDeviation: 2.331798018,
  }),
  set({
    name: 'Gauss2',
    level: 'lower',
    f: gauss,
    data: counting(list(gauss2), 1, 1),
    starts: [
      [96, 0.009, 103, 106, 18, 72, 151, 18],
      [98, 0.0105, 103, 105, 20, 73, 150, 20],
    ],
    certified: [
      9.9018328406e1, 1.0994945399e-2, 1.0188022528e2, 1.0703095519e2, 2.3578584029e1,
      7.2045589471e1, 1.5327010194e2, 1.9525972636e1,
    ],
    deviations: [
      5.3748766879e-1, 1.3335306766e-4, 5.9217315772e-1, 1.5006798316e-1, 2.2695595067e-1,
      6.1721965884e-1, 1.9466674341e-1, 2.6416549393e-1,
    ],
    squares: 1.2475282092e3,
    residualDeviation: 2.2704790782,
  }),
  set({
    name: 'DanWood',
    level: 'lower',
    f: ([x], [b1, b2]) => b1! * x! ** b2!,
    data: [2.138, 1.309, 3.421, 1.471, 3.597, 1.49, 4.34, 1.565, 4.882, 1.611, 5.66, 1.68],
    starts: [
      [1, 5],
      [0.7, 4],
    ],
    certified: [7.6886226176e-1, 3.8604055871],
    deviations: [1.828197386e-2, 5.1726610913e-2],
    squares: 4.3173084083e-3,
    residualDeviation: 3.2853114039e-2,
  }),
  set({
    name: 'Misra1b',
    level: 'lower',
    f: ([x], [b1, b2]) => b1! * (1 - (1 + (b2! * x!) / 2) ** -2),
    data: misra1,
    starts: [
      [500, 0.0001],
      [300, 0.0002],
    ],
    certified: [3.3799746163e2, 3.9039091287e-4],
    deviations: [3.1643950207, 4.2547321834e-6],
    squares: 7.5464681533e-2,
    residualDeviation: 7.9301471998e-2,
  }),
];

export const average: readonly ReferenceSet[] = [
  set({
    name: 'Kirby2',
    level: 'average',
    f: ([x], [b1, b2, b3, b4, b5]) => (b1! + x! * (b2! + x! * b3!)) / (1 + x! * (b4! + x! * b5!)),
    data: list(kirby2),
    starts: [
      [2, -0.1, 0.003, -0.001, 0.00001],
      [1.5, -0.15, 0.0025, -0.0015, 0.00002],
    ],
    certified: [1.6745063063, -1.3927397867e-1, 2.5961181191e-3, -1.724181187e-3, 2.1664802578e-5],
    deviations: [
      8.7989634338e-2, 4.1182041386e-3, 4.1856520458e-5, 5.8931897355e-5, 2.0129761919e-7,
    ],
    squares: 3.9050739624,
    residualDeviation: 1.6354535131e-1,
  }),
  set({
    name: 'Hahn1',
    level: 'average',
    f: cubics,
    data: list(hahn1),
    starts: [
      [10, -1, 0.05, -0.00001, -0.05, 0.001, -0.000001],
      [1, -0.1, 0.005, -0.000001, -0.005, 0.0001, -0.0000001],
    ],
    certified: [
      1.0776351733, -1.2269296921e-1, 4.086375061e-3, -1.4262662514e-6, -5.7609940901e-3,
      2.4053735503e-4, -1.2314450199e-7,
    ],
    deviations: [
      1.7070154742e-1, 1.2000289189e-2, 2.2508314937e-4, 2.7578037666e-7, 2.4712888219e-4,
      1.0449373768e-5, 1.3027335327e-8,
    ],
    squares: 1.5324382854,
    residualDeviation: 8.1803852243e-2,
  }),
  set({
    name: 'Nelson',
    level: 'average',
    f: ([x1, x2], [b1, b2, b3]) => b1! - b2! * x1! * exp(-b3! * x2!),
    // The model is of log y.
    data: list(nelson).map(log),
    predictors: [1, 2, 4, 8, 16, 32, 48, 64].flatMap((weeks) =>
      [180, 225, 250, 275].flatMap((degrees) => [0, 1, 2, 3].map(() => [weeks, degrees])),
    ),
    starts: [
      [2, 0.0001, -0.01],
      [2.5, 5e-9, -0.05],
    ],
    certified: [2.5906836021, 5.6177717026e-9, -5.7701013174e-2],
    deviations: [1.9149996413e-2, 6.112409654e-9, 3.9572366543e-3],
    squares: 3.7976833176,
    residualDeviation: 1.743028013e-1,
  }),
  set({
    name: 'MGH17',
    level: 'average',
    f: ([x], [b1, b2, b3, b4, b5]) => b1! + b2! * exp(-x! * b4!) + b3! * exp(-x! * b5!),
    data: counting(
      list(`.844 .908 .932 .936 .925 .908 .881 .850 .818 .784 .751 .718 .685 .658 .628 .603 .580
      .558 .538 .522 .506 .490 .478 .467 .457 .448 .438 .431 .424 .420 .414 .411 .406`),
      0,
      10,
    ),
    starts: [
      [50, 150, -100, 1, 2],
      [0.5, 1.5, -1, 0.01, 0.02],
    ],
    certified: [3.7541005211e-1, 1.9358469127, -1.4646871366, 1.286753464e-2, 2.2122699662e-2],
    deviations: [
      2.0723153551e-3, 2.2031669222e-1, 2.2175707739e-1, 4.4861358114e-4, 8.9471996575e-4,
    ],
    squares: 5.4648946975e-5,
    residualDeviation: 1.3970497866e-3,
  }),
  set({
    name: 'Lanczos1',
    level: 'average',
    f: lanczos,
    data: counting(
      list(`2.513400000000 2.044333373291 1.668404436564 1.366418021208 1.123232487372
      9.268897180037e-1 7.679338563728e-1 6.388775523106e-1 5.337835317402e-1 4.479363617347e-1
      3.775847884350e-1 3.197393199326e-1 2.720130773746e-1 2.324965529032e-1 1.996589546065e-1
      1.722704126914e-1 1.493405660168e-1 1.300700206922e-1 1.138119324644e-1 1.000415587559e-1
      8.833209084540e-2 7.833544019350e-2 6.976693743449e-2 6.239312536719e-2`),
      0,
      0.05,
    ),
    starts: lanczosStarts,
    certified: [
      9.5100000027e-2, 1.0000000001, 8.6070000013e-1, 3.0000000002, 1.5575999998, 5.0000000001,
    ],
    deviations: [
      5.3347304234e-11, 2.7473038179e-10, 1.3576062225e-10, 3.3308253069e-10, 1.8815731448e-10,
      1.1057500538e-10,
    ],
    squares: 1.4307867721e-25,
    residualDeviation: 8.9156129349e-14,
  }),
  set({
    name: 'Lanczos2',
    level: 'average',
    f: lanczos,
    data: counting(
      list(`2.51340 2.04433 1.66840 1.36642 1.12323 9.26890e-1 7.67934e-1 6.38878e-1 5.33784e-1
      4.47936e-1 3.77585e-1 3.19739e-1 2.72013e-1 2.32497e-1 1.99659e-1 1.72270e-1 1.49341e-1
      1.30070e-1 1.13812e-1 1.00042e-1 8.83321e-2 7.83354e-2 6.97669e-2 6.23931e-2`),
      0,
      0.05,
    ),
    starts: lanczosStarts,
    certified: [
      9.6251029939e-2, 1.0057332849, 8.6424689056e-1, 3.0078283915, 1.5529016879, 5.00287981,
    ],
    deviations: [
      6.6770575477e-4, 3.3989646176e-3, 1.7185846685e-3, 4.1707005856e-3, 2.3744381417e-3,
      1.3958787284e-3,
    ],
    squares: 2.2299428125e-11,
    residualDeviation: 1.1130395851e-6,
  }),
  set({
    name: 'Gauss3',
    level: 'average',
    f: gauss,
    data: counting(list(gauss3), 1, 1),
    starts: [
      [94.9, 0.009, 90.1, 113, 20, 73.8, 140, 20],
      [96, 0.0096, 80, 110, 25, 74, 139, 25],
    ],
    certified: [
      9.894036897e1, 1.0945879335e-2, 1.0069553078e2, 1.1163619459e2, 2.3300500029e1,
      7.3705031418e1, 1.4776164251e2, 1.966822123e1,
    ],
    deviations: [
      5.3005192833e-1, 1.2554058911e-4, 8.1256587317e-1, 3.5317859757e-1, 3.6584783023e-1,
      1.2091239082, 4.0488183351e-1, 3.7806634336e-1,
    ],
    squares: 1.244484636e3,
    residualDeviation: 2.2677077625,
  }),
  set({
    name: 'Misra1c',
    level: 'average',
    f: ([x], [b1, b2]) => b1! * (1 - (1 + 2 * b2! * x!) ** -0.5),
    data: misra1,
    starts: [
      [500, 0.0001],
      [600, 0.0002],
    ],
    certified: [6.3642725809e2, 2.0813627256e-4],
    deviations: [4.6638326572, 1.7728423155e-6],
    squares: 4.0966836971e-2,
    residualDeviation: 5.8428615257e-2,
  }),
  set({
    name: 'Misra1d',
    level: 'average',
    f: ([x], [b1, b2]) => (b1! * b2! * x!) / (1 + b2! * x!),
    data: misra1,
    starts: [
      [500, 0.0001],
      [450, 0.0003],
    ],
    certified: [4.3736970754e2, 3.0227324449e-4],
    deviations: [3.6489174345, 2.9334354479e-6],
    squares: 5.6419295283e-2,
    residualDeviation: 6.8568272111e-2,
  }),
  set({
    name: 'Roszman1',
    level: 'average',
    f: ([x], [b1, b2, b3, b4]) => b1! - b2! * x! - atan(b3! / (x! - b4!)) / PI,
    data: list(`
    0.252429 -4868.68 0.252141 -4868.09 0.251809 -4867.41 0.297989 -3375.19 0.296257 -3373.14
    0.295319 -3372.03 0.339603 -2473.74 0.337731 -2472.35 0.333820 -2469.45 0.389510 -1894.65
    0.386998 -1893.40 0.438864 -1497.24 0.434887 -1495.85 0.427893 -1493.41 0.471568 -1208.68
    0.461699 -1206.18 0.461144 -1206.04 0.513532 -997.92 0.506641 -996.61 0.505062 -996.31
    0.535648 -834.94 0.533726 -834.66 0.568064 -710.03 0.612886 -530.16 0.624169 -464.17`),
    starts: [
      [0.1, -0.00001, 1000, -100],
      [0.2, -0.000005, 1200, -150],
    ],
    certified: [2.0196866396e-1, -6.1953516256e-6, 1.2044556708e3, -1.8134269537e2],
    deviations: [1.9172666023e-2, 3.2058931691e-6, 7.4050983057e1, 4.9573513849e1],
    squares: 4.9484847331e-4,
    residualDeviation: 4.854298406e-3,
  }),
  set({
    name: 'ENSO',
    level: 'average',
    f: ([x], [b1, b2, b3, b4, b5, b6, b7, b8, b9]) => {
      const turn = 2 * PI * x!;
      return (
        b1! +
        b2! * cos(turn / 12) +
        b3! * sin(turn / 12) +
        b5! * cos(turn / b4!) +
        b6! * sin(turn / b4!) +
        b8! * cos(turn / b7!) +
        b9! * sin(turn / b7!)
      );
    },
    data: counting(list(enso), 1, 1),
    starts: [
      [11, 3, 0.5, 40, -0.7, -1.3, 25, -0.3, 1.4],
      [10, 3, 0.5, 44, -1.5, 0.5, 26, -0.1, 1.5],
    ],
    certified: [
      1.0510749193e1, 3.0762128085, 5.3280138227e-1, 4.43110887e1, -1.6231428586, 5.2554493756e-1,
      2.688761444e1, 2.1232288488e-1, 1.4966870418,
    ],
    deviations: [
      1.7488832467e-1, 2.4310052139e-1, 2.4354686618e-1, 9.4408025976e-1, 2.8078369611e-1,
      4.8073701119e-1, 4.161293913e-1, 5.1460022911e-1, 2.5434468893e-1,
    ],
    squares: 7.8853978668e2,
    residualDeviation: 2.2269642403,
  }),
];

export const higher: readonly ReferenceSet[] = [
  set({
    name: 'MGH09',
    level: 'higher',
    f: ([x], [b1, b2, b3, b4]) => (b1! * (x! * x! + x! * b2!)) / (x! * x! + x! * b3! + b4!),
    data: list(`
    .1957 4 .1947 2 .1735 1 .16 .5 .0844 .25 .0627 .167 .0456 .125 .0342 .1 .0323 .0833
    .0235 .0714 .0246 .0625`),
    starts: [
      [25, 39, 41.5, 39],
      [0.25, 0.39, 0.415, 0.39],
    ],
    certified: [1.9280693458e-1, 1.9128232873e-1, 1.2305650693e-1, 1.3606233068e-1],
    deviations: [1.1435312227e-2, 1.9633220911e-1, 8.0842031232e-2, 9.0025542308e-2],
    squares: 3.0750560385e-4,
    residualDeviation: 6.6279236551e-3,
  }),
  set({
    name: 'Thurber',
    level: 'higher',
    f: cubics,
    data: list(`
    80.574 -3.067 84.248 -2.981 87.264 -2.921 87.195 -2.912 89.076 -2.840 89.608 -2.797
    89.868 -2.702 90.101 -2.699 92.405 -2.633 95.854 -2.481 100.696 -2.363 101.060 -2.322
    401.672 -1.501 390.724 -1.460 567.534 -1.274 635.316 -1.212 733.054 -1.100 759.087 -1.046
    894.206 -0.915 990.785 -0.714 1090.109 -0.566 1080.914 -0.545 1122.643 -0.400 1178.351 -0.309
    1260.531 -0.109 1273.514 -0.103 1288.339 0.010 1327.543 0.119 1353.863 0.377 1414.509 0.790
    1425.208 0.963 1421.384 1.006 1442.962 1.115 1464.350 1.572 1468.705 1.841 1447.894 2.047
    1457.628 2.200`),
    starts: [
      [1000, 1000, 400, 40, 0.7, 0.3, 0.03],
      [1300, 1500, 500, 75, 1, 0.4, 0.05],
    ],
    certified: [
      1.28813968e3, 1.4910792535e3, 5.8323836877e2, 7.5416644291e1, 9.6629502864e-1,
      3.9797285797e-1, 4.9727297349e-2,
    ],
    deviations: [
      4.6647963344, 3.9571156086e1, 2.8698696102e1, 5.567537027, 3.1333340687e-2, 1.4984928198e-2,
      6.5842344623e-3,
    ],
    squares: 5.6427082397e3,
    residualDeviation: 1.3714600784e1,
  }),
  set({
    name: 'BoxBOD',
    level: 'higher',
    f: ([x], [b1, b2]) => b1! * (1 - exp(-b2! * x!)),
    data: [109, 1, 149, 2, 149, 3, 191, 5, 213, 7, 224, 10],
    starts: [
      [1, 1],
      [100, 0.75],
    ],
    certified: [2.1380940889e2, 5.4723748542e-1],
    deviations: [1.2354515176e1, 1.0455993237e-1],
    squares: 1.1680088766e3,
    residualDeviation: 1.7088072423e1,
  }),
  set({
    name: 'Rat42',
    level: 'higher',
    f: ([x], [b1, b2, b3]) => b1! / (1 + exp(b2! - b3! * x!)),
    data: [
      8.93, 9, 10.8, 14, 18.59, 21, 22.33, 28, 39.35, 42, 56.11, 57, 61.73, 63, 64.62, 70, 67.08,
      79,
    ],
    starts: [
      [100, 1, 0.1],
      [75, 2.5, 0.07],
    ],
    certified: [7.2462237576e1, 2.6180768402, 6.7359200066e-2],
    deviations: [1.7340283401, 8.8295217536e-2, 3.4465663377e-3],
    squares: 8.0565229338,
    residualDeviation: 1.1587725499,
  }),
  set({
    name: 'MGH10',
    level: 'higher',
    f: ([x], [b1, b2, b3]) => b1! * exp(b2! / (x! + b3!)),
    data: counting(
      list(
        `34780 28610 23650 19630 16370 13720 11540 9744 8261 7030 6005 5147 4427 3820 3307 2872`,
      ),
      50,
      5,
    ),
    starts: [
      [2, 400000, 25000],
      [0.02, 4000, 250],
    ],
    certified: [5.609636471e-3, 6.1813463463e3, 3.4522363462e2],
    deviations: [1.5687892471e-4, 2.3309021107e1, 7.8486103508e-1],
    squares: 8.7945855171e1,
    residualDeviation: 2.6009740065,
  }),
  set({
    name: 'Eckerle4',
    level: 'higher',
    f: ([x], [b1, b2, b3]) => (b1! / b2!) * exp(-0.5 * ((x! - b3!) / b2!) ** 2),
    data: list(`
    0.0001575 400 0.0001699 405 0.0002350 410 0.0003102 415 0.0004917 420 0.0008710 425
    0.0017418 430 0.0046400 435 0.0065895 436.5 0.0097302 438 0.0149002 439.5 0.0237310 441
    0.0401683 442.5 0.0712559 444 0.1264458 445.5 0.2073413 447 0.2902366 448.5 0.3445623 450
    0.3698049 451.5 0.3668534 453 0.3106727 454.5 0.2078154 456 0.1164354 457.5 0.0616764 459
    0.0337200 460.5 0.0194023 462 0.0117831 463.5 0.0074357 465 0.0022732 470 0.0008800 475
    0.0004579 480 0.0002345 485 0.0001586 490 0.0001143 495 0.0000710 500`),
    starts: [
      [1, 10, 500],
      [1.5, 5, 450],
    ],
    certified: [1.5543827178, 4.0888321754, 4.5154121844e2],
    deviations: [1.5408051163e-2, 4.6803020753e-2, 4.6800518816e-2],
    squares: 1.4635887487e-3,
    residualDeviation: 6.7629245447e-3,
  }),
  set({
    name: 'Rat43',
    level: 'higher',
    f: ([x], [b1, b2, b3, b4]) => b1! / (1 + exp(b2! - b3! * x!)) ** (1 / b4!),
    data: counting(
      list(`16.08 33.83 65.80 97.20 191.55 326.20 386.87 520.53 590.03 651.92 724.93 699.56 689.96
      637.56 717.41`),
      1,
      1,
    ),
    starts: [
      [100, 10, 1, 1],
      [700, 5, 0.75, 1.3],
    ],
    certified: [6.996415127e2, 5.2771253025, 7.5962938329e-1, 1.2792483859],
    deviations: [1.6302297817e1, 2.0828735829, 1.9566123451e-1, 6.8761936385e-1],
    squares: 8.786404908e3,
    residualDeviation: 2.8262414662e1,
  }),
  set({
    name: 'Bennett5',
    level: 'higher',
    f: ([x], [b1, b2, b3]) => b1! * (b2! + x!) ** (-1 / b3!),
    data: list(bennett5),
    starts: [
      [-2000, 50, 0.8],
      [-1500, 45, 0.85],
    ],
    certified: [-2.5235058043e3, 4.6736564644e1, 9.3218483193e-1],
    deviations: [2.9715175411e2, 1.2448871856, 2.0272299378e-2],
    squares: 5.2404744073e-4,
    residualDeviation: 1.8629312528e-3,
  }),
];
