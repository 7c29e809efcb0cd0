/** Commands as they are typed into a shell: names that are not plain are quoted. */

/** `lanewright` and its words. */
export function commandLine(...words: readonly string[]): string {
  return ['lanewright', ...words].map(shellWord).join(' ');
}

/** POSIX quoting (IEEE Std 1003.1, shell command language, 2.2.2). */
function shellWord(word: string): string {
  return /^[\w./:=+-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`;
}
