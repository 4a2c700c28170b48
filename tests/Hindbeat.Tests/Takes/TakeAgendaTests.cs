using Hindbeat.Takes;

namespace Hindbeat.Tests.Takes;

/// <summary>Five things at most are worked on, six at most are named for later.</summary>
public class TakeAgendaTests
{
    [Fact]
    public void Nothing_is_said_to_be_nothing() =>
        Assert.Equal((0, "Nothing stands out: where take and passage differ, it is no more than chance shows.", null), Parts(TakeAgenda.Of([])));

    [Fact]
    public void What_is_small_is_named_and_not_asked_for() =>
        Assert.Equal((0, "Nothing stands out; what differs is small.", "Small: thing 0; thing 1."), Parts(TakeAgenda.Of(Advice(0.4, 0.1))));

    [Fact]
    public void The_sixth_telling_thing_waits_before_the_small_ones_and_the_seventh_of_those_is_counted()
    {
        TakeAgenda agenda = TakeAgenda.Of(Advice(3, 2.5, 2, 1.5, 1, 0.9, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05, 0));
        Assert.Equal((5, null, "For later: thing 5; thing 6; thing 7; thing 8; thing 9; thing 10; and 2 more."), Parts(agenda));
        Assert.Equal(Enumerable.Range(0, 5).Select(i => $"Do {i}."), agenda.Now.Select(advice => advice.Text));
    }

    private static (int, string?, string?) Parts(TakeAgenda agenda) => (agenda.Now.Count, agenda.NothingNow, agenda.Later);

    private static TakeAdvice[] Advice(params double[] weights) => [.. weights.Select((weight, i) => new TakeAdvice($"thing {i}", weight, $"Do {i}."))];
}
