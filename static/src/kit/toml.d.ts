// The bundler gives these files as text.
declare module "*.toml" {
  const text: string;
  export default text;
}
