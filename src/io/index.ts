export { fileChunks, streamChunks } from './chunks.ts';
export { FOLDER_DEPTH_MAX, FOLDER_FILES_MAX, readFolder } from './folder.ts';
export { GrowingFile } from './growing-file.ts';
export { relativeName } from './names.ts';
export { type FileProblemCode, fileError, fileProblemCodes } from './problems.ts';
export {
  decodeText,
  type NamedText,
  readStream,
  readText,
  STANDARD_INPUT,
  TEXT_BYTES_MAX,
} from './read.ts';
export { firstBadByte } from './utf8.ts';
export { exists, type Replace, unwritable, writeBytes, writeText } from './write.ts';
