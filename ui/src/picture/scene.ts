/** The solid view: the poured outline with its cut-outs and turned-down edge, the picture on top. */
import {
  AmbientLight, BufferAttribute, Color, DirectionalLight, ExtrudeGeometry, Group, Mesh,
  MeshStandardMaterial, Path, PerspectiveCamera, PMREMGenerator, Scene, Shape, SRGBColorSpace,
  TextureLoader, Vector2, WebGLRenderer,
} from "three";
import { RoomEnvironment } from "three/examples/jsm/environments/RoomEnvironment.js";
import type { Picture } from "./tasks";
import { closer, dragged, keyed, STRAIGHT, type Turn } from "./turn";

const points = (ring: [number, number][]): Vector2[] => ring.map(([x, y]) => new Vector2(x, -y)); // y runs down the plan

export class Slab {
  private renderer: WebGLRenderer;
  private scene = new Scene();
  private camera = new PerspectiveCamera(30, 1, 0.01, 200);
  private group = new Group();
  private turn: Turn = STRAIGHT;
  private reach = 2;
  private frame = 0;
  private seen: ResizeObserver;

  constructor(private readonly canvas: HTMLCanvasElement) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    const make = new PMREMGenerator(this.renderer);
    this.scene.environment = make.fromScene(new RoomEnvironment(), 0.04).texture;
    this.scene.environmentIntensity = 0.55;
    make.dispose();
    const sun = new DirectionalLight(0xfff2df, 1.3);
    sun.position.set(-2, 4, 1.5);
    this.scene.add(new AmbientLight(0xffffff, 0.45), sun, this.group);
    this.seen = new ResizeObserver(() => this.draw());
    this.seen.observe(canvas);
    this.listen();
  }

  /** Lay a picture on its piece. */
  async show(picture: Picture): Promise<void> {
    const about = picture.about!;
    const outline = about.outline_m!;
    const texture = await new TextureLoader().loadAsync(picture.url);
    texture.colorSpace = SRGBColorSpace;
    texture.anisotropy = this.renderer.capabilities.getMaxAnisotropy();
    const shape = new Shape(points(outline));
    shape.holes = (about.holes_m ?? []).map((ring) => new Path(points(ring)));
    const thick = Math.max(about.drop_m ?? 0, 0.012);
    const made = new ExtrudeGeometry(shape, { depth: thick, bevelEnabled: false, curveSegments: 24 });
    const xs = outline.map((p) => p[0]);
    const ys = outline.map((p) => -p[1]);
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    // the picture by place, also down the sides: the pour runs over them from the edge
    const at = made.getAttribute("position");
    const uv = new Float32Array(at.count * 2);
    for (let i = 0; i < at.count; i += 1) {
      uv[2 * i] = (at.getX(i) - x0) / (x1 - x0);
      uv[2 * i + 1] = (at.getY(i) - y0) / (y1 - y0);
    }
    made.setAttribute("uv", new BufferAttribute(uv, 2));
    made.translate(-(x0 + x1) / 2, -(y0 + y1) / 2, -thick);
    made.rotateX(-Math.PI / 2);
    this.empty();
    const top = new MeshStandardMaterial({ map: texture, roughness: 0.16, metalness: 0 });
    const side = new MeshStandardMaterial({ map: texture, roughness: 0.3, color: new Color(0xd8d2c8) });
    this.group.add(new Mesh(made, [top, side]));
    this.reach = Math.hypot(x1 - x0, y1 - y0) / 2;
    this.canvas.dataset.scene = picture.scene;
    this.draw();
  }

  private empty(): void {
    for (const child of [...this.group.children]) {
      const mesh = child as Mesh;
      mesh.geometry.dispose();
      for (const m of mesh.material as MeshStandardMaterial[]) {
        m.map?.dispose();
        m.dispose();
      }
      this.group.remove(child);
    }
  }

  private draw(): void {
    cancelAnimationFrame(this.frame);
    this.frame = requestAnimationFrame(() => {
      const [wide, tall] = [this.canvas.clientWidth, this.canvas.clientHeight];
      if (!wide || !tall) return;
      this.renderer.setSize(wide, tall, false);
      this.camera.aspect = wide / tall;
      const far = (this.reach / Math.tan((15 * Math.PI) / 180)) * Math.max(1, tall / wide) * (wide > 1.3 * tall ? 0.78 : 1.05) * this.turn.near;
      const { yaw, pitch } = this.turn;
      this.camera.position.set(far * Math.cos(pitch) * Math.sin(yaw), far * Math.sin(pitch), far * Math.cos(pitch) * Math.cos(yaw));
      this.camera.lookAt(0, 0, 0);
      this.camera.updateProjectionMatrix();
      this.renderer.render(this.scene, this.camera);
      this.canvas.dataset.yaw = yaw.toFixed(3);
    });
  }

  private listen(): void {
    const c = this.canvas;
    const held = new Map<number, [number, number]>();
    c.addEventListener("pointerdown", (e) => {
      held.set(e.pointerId, [e.clientX, e.clientY]);
      c.setPointerCapture(e.pointerId);
    });
    c.addEventListener("pointermove", (e) => {
      const was = held.get(e.pointerId);
      if (!was) return;
      const other = [...held].find(([id]) => id !== e.pointerId)?.[1];
      if (other) {
        const before = Math.hypot(was[0] - other[0], was[1] - other[1]) || 1;
        const after = Math.hypot(e.clientX - other[0], e.clientY - other[1]) || 1;
        this.turn = closer(this.turn, after / before);
      } else this.turn = dragged(this.turn, -(e.clientX - was[0]), e.clientY - was[1]);
      held.set(e.pointerId, [e.clientX, e.clientY]);
      this.draw();
    });
    const end = (e: PointerEvent): void => void held.delete(e.pointerId);
    c.addEventListener("pointerup", end);
    c.addEventListener("pointercancel", end);
    c.addEventListener("wheel", (e) => {
      if (!e.ctrlKey && !e.metaKey) return;
      e.preventDefault();
      this.turn = closer(this.turn, Math.exp(-e.deltaY * 0.003));
      this.draw();
    }, { passive: false });
    c.addEventListener("keydown", (e) => {
      const next = keyed(this.turn, e.key);
      if (!next) return;
      e.preventDefault();
      this.turn = next;
      this.draw();
    });
  }

  stop(): void {
    cancelAnimationFrame(this.frame);
    this.seen.disconnect();
    this.empty();
    this.scene.environment?.dispose();
    this.renderer.dispose();
  }
}
