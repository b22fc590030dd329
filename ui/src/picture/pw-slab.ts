export class PwSlab extends HTMLElement {}
