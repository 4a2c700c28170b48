using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>Draws the notes and rests of one voice of one bar: heads, dots, graces, stems, flags and beams.</summary>
internal sealed class VoiceEngraver
{
    private readonly SystemInk _ink;
    private readonly BarLayout _layout;
    private readonly ChartVoice _voice;
    private readonly ChartVoice _other;
    private readonly bool _up;
    private readonly PlayedPlaces? _played;
    private readonly double[] _x;
    private readonly double[] _tip;

    /// <param name="xOf">Origin of each event's column; unused for events that are not drawn in a column.</param>
    /// <param name="played">Where strokes were really struck; null to draw them where they are written.</param>
    public VoiceEngraver(SystemInk ink, BarLayout layout, bool hands, Func<ChartEvent, double> xOf, PlayedPlaces? played = null)
    {
        _played = played;
        _ink = ink;
        _layout = layout;
        _voice = hands ? layout.Bar.Hands : layout.Bar.Feet;
        _other = hands ? layout.Bar.Feet : layout.Bar.Hands;
        _up = hands;
        _x = [.. _voice.Events.Select(happening => happening.Hidden || happening.FillsBar ? 0 : xOf(happening))];
        _tip = new double[_voice.Events.Count];
    }

    public ChartVoice Voice => _voice;
    public bool StemsUp => _up;

    /// <summary>Column origin of an event.</summary>
    public double X(int index) => _x[index];

    public ChordShape? Shape(int index) => _layout.Shapes.GetValueOrDefault(_voice.Events[index]);

    public void Draw()
    {
        var beamed = new bool[_voice.Events.Count];
        foreach (BeamRun run in _voice.Beams)
        {
            Array.Fill(beamed, true, run.First, run.Last - run.First + 1);
            DrawBeams(run);
        }

        for (int i = 0; i < _voice.Events.Count; i++)
        {
            if (Shape(i) is not { } shape)
            {
                RestEngraver.Draw(_ink, _voice.Events[i], _x[i], _up, _layout, _other);
                continue;
            }

            if (!beamed[i])
                _tip[i] = FreeTip(shape);
            DrawStem(shape, i, beamed[i]);
            NoteEngraver.Draw(_ink, shape, _x[i], played: _played);
            int buzzed = shape.Heads.ToList().FindIndex(head => head.Note.Marks.HasFlag(HitMarks.Buzz));
            if (buzzed >= 0)
                MarkEngraver.Buzz(_ink, _x[i] + shape.StemX, _up ? shape.TopY : shape.BottomY, _tip[i] + (_up ? 0.9 : -0.9), shape.Heads[buzzed].Note.Hit);
        }
    }

    /// <summary>The end of a lone stem; a flagged one is drawn out until its flag clears what stands beside it.</summary>
    private double FreeTip(ChordShape shape)
    {
        int flags = shape.Event.Value.Flags;
        double extra = Math.Max(0, flags - 2) * 0.75;
        double tip = _up ? shape.TopY - StemLength(shape) - extra : shape.BottomY + StemLength(shape) + extra;
        if (flags == 0)
            return tip;
        Box flag = MusicFont.Bounds(Smufl.Flag(flags, _up));
        foreach (HeadShape head in shape.Heads)
        {
            // Right of a rising stem only displaced heads and parentheses stand; a hanging stem has the heads
            // themselves there, and of those only a wide cross reaches under the flag.
            double reach = head.IsGhost ? Parentheses.HalfHeight : 0.5;
            // Heads that stand where they were struck may stand under the flag, whatever their width.
            bool aside = head.IsGhost || _played is not null;
            if (_up && (aside || head.Right > shape.StemX + 0.2))
                tip = Math.Min(tip, head.Y - reach - 0.1 - flag.Bottom);
            else if (!_up && (aside || head.Right > 1.3))
                tip = Math.Max(tip, head.Y + reach + 0.1 - flag.Top);
        }

        return tip;
    }

    /// <summary>
    /// 3.5 spaces, less for notes outside the staff whose stem points away from it (common practice, no
    /// source): a page of hats would otherwise push the systems apart.
    /// </summary>
    private double StemLength(ChordShape shape)
    {
        double outside = _up ? -shape.TopY - 2.0 : shape.BottomY - 2.0;
        return 3.5 - Math.Clamp(outside, 0, 1.5) * 0.5;
    }

    private void DrawStem(ChordShape shape, int index, bool beamed)
    {
        if (shape.Event.Value.Halvings == 0)
            return;
        double x = _x[index] + shape.StemX;
        double overlap = beamed ? StaffLook.BeamThickness / 2 : 0;
        _ink.Line(InkRole.Stem, x, shape.StemStartY, x, _tip[index] + (_up ? overlap : -overlap), _played is null ? StaffLook.StemThickness : StaffLook.StemThickness / 2);
        if (!beamed && shape.Event.Value.Flags > 0)
            _ink.Glyph(InkRole.Stem, Smufl.Flag(shape.Event.Value.Flags, _up), x - (StaffLook.StemThickness / 2), _tip[index]);
    }

    private void DrawBeams(BeamRun run)
    {
        int[] notes = [.. Enumerable.Range(run.First, run.Last - run.First + 1).Where(i => !_voice.Events[i].IsRest)];
        double firstX = StemAt(run.First);
        double lastX = StemAt(run.Last);
        double slope = Slope(notes, lastX - firstX);
        List<BeamPiece> pieces = BeamLevels.Of(_voice, run);
        double deep = Math.Max(0, pieces.Max(piece => piece.Level) - 2) * (StaffLook.BeamThickness + StaffLook.BeamGap);
        double line = _up ? double.PositiveInfinity : double.NegativeInfinity;
        foreach (int i in notes)
        {
            ChordShape shape = Shape(i)!;
            double length = StemLength(shape) + deep;
            double wanted = (_up ? shape.TopY - length : shape.BottomY + length) - (slope * (StemAt(i) - firstX));
            line = _up ? Math.Min(line, wanted) : Math.Max(line, wanted);
        }

        foreach (int i in notes)
            _tip[i] = line + (slope * (StemAt(i) - firstX));
        foreach (BeamPiece piece in pieces)
        {
            double half = StaffLook.StemThickness / 2;
            double left = StemAt(NoteAtOrAfter(piece.First)) - half;
            double right = StemAt(NoteAtOrBefore(piece.Last)) + half;
            if (piece.Hook > 0)
                right = left + HookLength(piece.First, piece.First + 1);
            else if (piece.Hook < 0)
                left = right - HookLength(piece.First - 1, piece.First);
            double depth = (piece.Level - 1) * (StaffLook.BeamThickness + StaffLook.BeamGap);
            double top = _up ? line + depth : line - depth - StaffLook.BeamThickness;
            _ink.Beam(left, top + (slope * (left - firstX)), right, top + (slope * (right - firstX)));
        }
    }

    /// <summary>A head's width, or half the way to the neighbour where that is near.</summary>
    private double HookLength(int left, int right) => Math.Min(1.2, Math.Abs(_x[right] - _x[left]) * 0.5);

    /// <summary>
    /// Flat when both ends are level or an inner note stands out beyond both; else half the difference of
    /// the ends, at most one space in all and one in eight.
    /// </summary>
    private double Slope(int[] notes, double width)
    {
        double first = Outer(notes[0]);
        double last = Outer(notes[^1]);
        double outermost = _up ? Math.Min(first, last) : Math.Max(first, last);
        if (first == last || notes.Length > 2 && notes[1..^1].Any(i => _up ? Outer(i) <= outermost : Outer(i) >= outermost))
            return 0;
        double rise = Math.Clamp((last - first) * 0.5, -1.0, 1.0);
        return Math.Clamp(rise / width, -0.125, 0.125);
    }

    private double Outer(int index)
    {
        ChordShape shape = Shape(index)!;
        return _up ? shape.TopY : shape.BottomY;
    }

    private double StemAt(int index) => _x[index] + Shape(index)!.StemX;

    private int NoteAtOrAfter(int index)
    {
        while (_voice.Events[index].IsRest)
            index++;
        return index;
    }

    private int NoteAtOrBefore(int index)
    {
        while (_voice.Events[index].IsRest)
            index--;
        return index;
    }
}
