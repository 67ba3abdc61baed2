// A crop is drawn on the picture: from one corner to the other, by finger or mouse. The four fields stay the truth; what is
// typed into them moves the frame, so that a keyboard does without the drawing.
const within = (value) => Math.min(100, Math.max(0, value))

const begin = (box) => {
  const fields = box.closest('fieldset')
  const frame = box.querySelector('.crop-frame')
  const edge = (name) => fields.querySelector(`input[name$="-${name}"]`)
  const edges = ['left', 'top', 'right', 'bottom'].map(edge)
  if (edges.some((field) => !field)) return
  let from = null

  const show = () => {
    const [left, top, right, bottom] = edges.map((field) => Number.parseFloat(field.value.replace(',', '.')))
    const drawn = left < right && top < bottom
    frame.hidden = !drawn
    if (!drawn) return
    frame.style.left = `${left}%`
    frame.style.top = `${top}%`
    frame.style.width = `${right - left}%`
    frame.style.height = `${bottom - top}%`
  }
  const at = (event) => {
    const bounds = box.querySelector('img').getBoundingClientRect()
    return [(event.clientX - bounds.left) / bounds.width, (event.clientY - bounds.top) / bounds.height].map((part) => within(100 * part))
  }
  const draw = (event) => {
    const to = at(event)
    const corners = [Math.min(from[0], to[0]), Math.min(from[1], to[1]), Math.max(from[0], to[0]), Math.max(from[1], to[1])]
    edges.forEach((field, number) => { field.value = String(Math.round(10 * corners[number]) / 10) })
    show()
  }
  box.addEventListener('pointerdown', (event) => {
    if (!event.isPrimary || event.button !== 0) return
    from = at(event)
    box.setPointerCapture(event.pointerId)
    event.preventDefault()
  })
  box.addEventListener('pointermove', (event) => { if (from) draw(event) })
  box.addEventListener('pointerup', () => { from = null })
  box.addEventListener('pointercancel', () => { from = null })
  for (const field of edges) field.addEventListener('input', show)
  for (const each of fields.querySelectorAll('.scripted')) each.hidden = false
  show()
}

for (const box of document.querySelectorAll('[data-crop]')) begin(box)
