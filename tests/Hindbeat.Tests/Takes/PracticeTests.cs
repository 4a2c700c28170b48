using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

public class PracticeTests
{
    private static readonly Bpm Tempo = Bpm.Of(100);

    [Fact]
    public void Two_good_takes_climb_and_two_bad_ones_step_down()
    {
        Assert.Equal(70, PracticeLadder.Next(Tempo, []).Tempo.Value);
        Assert.Equal(70, PracticeLadder.Next(Tempo, [Mark(0, 70, 1, 0)]).Tempo.Value);
        Assert.Equal(78, PracticeLadder.Next(Tempo, [Mark(0, 70, 1, 0), Mark(1, 70, 0.98, 0.5)]).Tempo.Value);
        Assert.Equal(70, PracticeLadder.Next(Tempo, [Mark(0, 70, 1, 0), Mark(1, 70, 1, 2)]).Tempo.Value);
        Assert.Equal(60, PracticeLadder.Next(Tempo, [Mark(0, 70, 0.6, 3), Mark(1, 70, 0.7, 3)]).Tempo.Value);
        Assert.Equal(105, PracticeLadder.Next(Tempo, [Mark(0, 105, 1, 0), Mark(1, 105, 1, 0)]).Tempo.Value);
    }

    [Fact]
    public void A_day_of_takes_counts_in_the_order_in_which_they_were_played() =>
        Assert.Equal(78, PracticeLadder.Next(Tempo, [Mark(2, 70, 1, 0), Mark(0, 70, 0.5, 4), Mark(1, 70, 1, 0)]).Tempo.Value);

    [Theory]
    [InlineData(10)]
    [InlineData(25)]
    [InlineData(60)]
    [InlineData(120)]
    public void A_plan_fills_its_time_warms_up_first_rests_between_and_ends_with_a_take(int minutes)
    {
        IReadOnlyList<PracticePart> plan = PracticePlan.Make(minutes, Tempo, [], [new TakeAdvice("the kick's place", 1, "Let it come later.")]);
        Assert.Equal(minutes, plan.Sum(part => part.Length.TotalMinutes), 6);
        Assert.Equal("Warm-up", plan[0].Name);
        Assert.Equal("Take", plan[^1].Name);
        Assert.All(plan, part => Assert.True(part.Length > TimeSpan.FromMinutes(0.9)));
        for (int i = 1; i < plan.Count; i++)
            Assert.False(plan[i].Name.StartsWith("Work", StringComparison.Ordinal) && plan[i - 1].Name.StartsWith("Work", StringComparison.Ordinal));
    }

    [Fact]
    public void What_can_wait_is_no_work_of_a_session()
    {
        TakeAdvice telling = new("the kick's place", 1, "Let it come later."), small = new("swing of the 8ths", 0.2, "Let the off-beats come earlier.");
        IReadOnlyList<PracticePart> both = PracticePlan.Make(60, Tempo, [], [telling, small]), only = PracticePlan.Make(60, Tempo, [], [small]);
        Assert.DoesNotContain(both.Concat(only), part => part.Name.Contains("swing", StringComparison.Ordinal));
        Assert.Contains(both, part => part.Name == "Work on the kick's place");
        Assert.Contains(only, part => part.Name == "Play along");
    }

    [Theory]
    [InlineData(5)]
    [InlineData(600)]
    public void Sessions_of_no_sensible_length_are_refused(int minutes) =>
        Assert.Throws<InputException>(() => PracticePlan.Make(minutes, Tempo, [], []));

    private static TakeMark Mark(int hour, double bpm, double found, double toWorkOn) =>
        new(new DateTimeOffset(2026, 1, 1, hour, 0, 0, TimeSpan.Zero), Bpm.Of(bpm), found, toWorkOn);
}
