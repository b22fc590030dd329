export class PwPicture extends HTMLElement {}
