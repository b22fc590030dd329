export class PwFloor extends HTMLElement {}
