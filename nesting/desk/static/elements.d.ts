// Types of dom.js that only a file of declarations can name. No browser reads it.

/** What may stand in an element: null, undefined and false are nothing, lists are taken apart. */
export type Child = Node | string | number | boolean | null | undefined | readonly Child[];

/**
 * What an element is made with: handlers, which know the element that they are called for, and any
 * attribute; null, undefined and false leave it out.
 */
export type Attributes<E> = {
  [K in keyof GlobalEventHandlersEventMap as `on${K}`]?: (
    event: GlobalEventHandlersEventMap[K] & { readonly currentTarget: E },
  ) => unknown;
} & Record<string, unknown>;

/**
 * An element as it is kept between two drawings: the names of its handlers, and of a field what it
 * was last shown with and whether that has been sent.
 */
export type Kept = Element &
  Record<string, unknown> & {
    handlers?: string[];
    shown?: string;
    shownChecked?: boolean;
    isSent?: boolean;
    value: string;
    checked: boolean;
    disabled: boolean;
    type: string;
    onchange: unknown;
  };

export type Field = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;
export type Render = () => void;

// What runs beside the page, where sound comes in, has these; the types of pages do not name them.
declare global {
  class AudioWorkletProcessor {
    readonly port: MessagePort;
  }
  function registerProcessor(name: string, made: new () => AudioWorkletProcessor): void;
}
