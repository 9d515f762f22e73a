// SPDX-License-Identifier: BSD-3-Clause
/** The compiled engine as emscripten's loader hands it over. Addresses are byte offsets into its memory. */

export interface EngineModule {
  HEAPU8: Uint8Array;
  goOn: (day: number, durationDays: number, openingAreaMm2: number) => boolean;
  begun: (answer: number) => void;
  lengthBytesUTF8(text: string): number;
  stringToUTF8(text: string, at: number, bytes: number): void;
  _malloc(bytes: number): number;
  _free(at: number): void;
  _capsim_simulate(text: number, bytes: number, listen: number, withMargin: number, tellDay0: number): number;
  _capsim_complete(text: number, bytes: number): number;
  _capsim_mirrored(text: number, bytes: number): number;
  _capsim_populations(): number;
  _capsim_eye_of_population(
    name: number,
    nameBytes: number,
    text: number,
    bytes: number,
    index: number,
    typical: number,
  ): number;
  _capsim_eye_under_law(
    name: number,
    nameBytes: number,
    law: number,
    lawBytes: number,
    text: number,
    bytes: number,
  ): number;
  _capsim_study(text: number, bytes: number, listen: number): number;
  _capsim_sensitivities(text: number, bytes: number): number;
  _capsim_about(): number;
  _capsim_answer_text(answer: number): number;
  _capsim_answer_text_bytes(answer: number): number;
  _capsim_answer_numbers(answer: number): number;
  _capsim_answer_count(answer: number): number;
  _capsim_release(answer: number): void;
}
export interface EngineSettings {
  instantiateWasm(imports: WebAssembly.Imports, done: (instance: WebAssembly.Instance) => void): object;
  goOn: EngineModule["goOn"];
  begun: EngineModule["begun"];
  print: (text: string) => void;
  printErr: (text: string) => void;
}

export type EngineLoader = (settings: EngineSettings) => Promise<EngineModule>;
