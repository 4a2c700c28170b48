using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>The text form of a bar, as docs/bar-text.md describes it.</summary>
public class BarTextTests
{
    [Fact]
    public void Any_bar_comes_back_stroke_for_stroke() => Any.Sample(performance =>
    {
        foreach (var bar in performance.Hits.Where(hit => hit.Position is not null).GroupBy(hit => hit.Position!.Value.Bar))
        {
            TypedStroke[] strokes = [.. bar.Select(hit => new TypedStroke(hit.Piece, hit.Position!.Value, hit.Velocity, hit.Marks))];
            TypedBar read = BarText.Parse(BarText.Write(new TypedBar(bar.Key, performance.Meter, strokes)));
            Assert.Equal((bar.Key, performance.Meter), (read.Number, read.Meter));
            Assert.Equal(Sorted(strokes), Sorted(read.Strokes));
        }
    }, iter: 300);

    [Fact]
    public void The_example_of_the_documentation_is_read_as_it_says()
    {
        TypedBar bar = BarText.Parse("bar 3 in 4/4\nkick: 1, 2&, 3e\n\nsnare: 2 accent, 2a ghost @30, 4+1/3\n");
        Assert.Equal(
            [
                new TypedStroke(KitPiece.Kick, new BarPosition(3, 1, 0), 80, HitMarks.None),
                new TypedStroke(KitPiece.Kick, new BarPosition(3, 2, new Fraction(1, 2)), 80, HitMarks.None),
                new TypedStroke(KitPiece.Kick, new BarPosition(3, 3, new Fraction(1, 4)), 80, HitMarks.None),
                new TypedStroke(KitPiece.Snare, new BarPosition(3, 2, 0), 80, HitMarks.Accent),
                new TypedStroke(KitPiece.Snare, new BarPosition(3, 2, new Fraction(3, 4)), 30, HitMarks.Ghost),
                new TypedStroke(KitPiece.Snare, new BarPosition(3, 4, new Fraction(1, 3)), 80, HitMarks.None),
            ],
            bar.Strokes);
    }

    [Theory]
    [InlineData("", "empty")]
    [InlineData("kick: 1", "does not begin a bar")]
    [InlineData("bar 1 in 4/5", "not a time signature")]
    [InlineData("bar 1 in 4/4\ntriangle: 1", "Line 2")]
    [InlineData("bar 1 in 4/4\nkick: 5", "'5' is not a place")]
    [InlineData("bar 1 in 4/4\nkick: 1+3/2", "not a place")]
    [InlineData("bar 1 in 4/4\nkick: 1+1/0", "not a place")]
    [InlineData("bar 1 in 4/4\nkick: 1 loud", "'loud'")]
    [InlineData("bar 1 in 4/4\nkick: 1 @200", "'@200'")]
    public void What_cannot_be_read_is_named(string text, string message) =>
        Assert.Contains(message, Assert.Throws<InputException>(() => BarText.Parse(text)).Message, StringComparison.Ordinal);

    private static IEnumerable<TypedStroke> Sorted(IEnumerable<TypedStroke> strokes) =>
        strokes.OrderBy(stroke => stroke.Piece).ThenBy(stroke => stroke.Position).ThenBy(stroke => stroke.Velocity).ThenBy(stroke => stroke.Marks);
}
