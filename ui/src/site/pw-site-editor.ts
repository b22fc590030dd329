export class PwSiteEditor extends HTMLElement {}
